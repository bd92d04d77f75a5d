"""What is left of the causes after repairs that nobody has driven with: where planning starts from.

An assessment tells of the vehicle that the driver complains of. Between a repair and the next drive
it is another one: some causes may be gone, and what was seen since says something of which.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from diagnose.evidence import CERTAIN, Observed, Situation
from diagnose.fault_sets import FaultSet
from diagnose.mending import Repair, histories
from diagnose.network import Network


def left_now(
    network: Network, situation: Situation, sets: Iterable[FaultSet]
) -> tuple[FaultSet, ...]:
    """Say what is left of sets of causes after the repairs that nobody has driven with.

    Parameters
    ----------
    network : Network
    situation : Situation
    sets : iterable of FaultSet
        The causes when the vehicle was driven last, as `diagnose.assess` lists them.

    Returns
    -------
    tuple of FaultSet
        By falling chance; the chances sum to what those of `sets` sum to. The empty set is a
        vehicle that is well. Without pending repairs just the sets that were given.

    Notes
    -----
    Exact for the sets given: each may have become any set that its repairs can leave, weighed with
    what was seen after them. Readings taken since count by the bands they fall in. Own derivation.
    """
    given = tuple(sets)
    if not situation.pending:
        return given
    left: dict[frozenset[int], float] = {}
    for outcomes in left_of_each(network, situation, given):
        for causes, weight in outcomes:
            left[causes] = left.get(causes, 0.0) + weight
    scale = sum(s.p for s in given) / (sum(left.values()) or 1.0)
    return tuple(
        FaultSet(causes, scale * weight)
        for causes, weight in sorted(left.items(), key=lambda item: (-item[1], sorted(item[0])))
    )


def left_of_each(
    network: Network, situation: Situation, sets: Iterable[FaultSet]
) -> Iterator[list[tuple[frozenset[int], float]]]:
    """Yield, for each set of causes, what may be left of it after the pending repairs.

    Parameters
    ----------
    network, situation, sets
        As of `left_now`.

    Yields
    ------
    list of tuple
        What is left, and its weight; the weights of all sets together are not normalised.
    """
    repairs = tuple(Repair(i, i, cures, pending=True) for i, cures in situation.pending)
    since = _Since(network, situation, repairs)
    for told in sets:
        yield since.left_of(told) if repairs else [(told.causes, told.p)]


@dataclass(frozen=True)
class _Since:
    """The repairs that are pending, and what was seen after them."""

    network: Network
    situation: Situation
    repairs: tuple[Repair, ...]
    chances: dict[tuple[frozenset[int], str], float] = field(default_factory=dict)

    def left_of(self, told: FaultSet) -> list[tuple[frozenset[int], float]]:
        """Give what may be left of one set of causes, and its weight with what was seen since."""
        paths = []
        counted = 0.0  # of what was seen since, what the chance of the set holds already
        for chance, states in histories(1.0, (told.causes,), self.repairs):
            weight = chance * self._likelihood(states, counted=True)
            counted += weight
            paths.append((states[-1], weight * self._likelihood(states, counted=False)))
        if counted <= 0.0:
            return [(told.causes, told.p)]
        return [(causes, told.p * weight / counted) for causes, weight in paths]

    def _likelihood(self, states: tuple[frozenset[int], ...], *, counted: bool) -> float:
        """Likelihood of what was seen since: of what the assessment counts, or of what not."""
        likelihood = 1.0
        for name, seen in self._answers(counted=counted):
            done = sum(repair.place < seen.entry for repair in self.repairs)
            on = self._chance(states[done], name)
            ratio = seen.ratio
            likelihood *= on if ratio == CERTAIN else (1.0 - on + ratio * on) / (1.0 + ratio)
        return likelihood

    def _answers(self, *, counted: bool) -> Iterator[tuple[str, Observed]]:
        """Yield what was seen after the first of the repairs.

        Of a finding that was seen twice the assessment counts one answer; the other is the latest.
        """
        observed, first = self.situation.observed, self.repairs[0].place
        for name, seen in (observed if counted else self.situation.after).items():
            told = name in self.network.base.complaints  # tells of the last drive
            other = observed[name].entry != seen.entry
            if (seen.entry > first and not told) if counted else other:
                yield name, seen

    def _chance(self, causes: frozenset[int], name: str) -> float:
        """Chance that a finding is there with just these causes (indices) present."""
        if (causes, name) not in self.chances:
            network, finding = self.network, self.network.finding_index[name]
            off = 1.0 - float(network.leak[finding])
            alone = set(causes)
            for group in network.groups:
                members = causes.intersection(group.members)
                if len(members) > 1:
                    alone -= members
                    off *= 1.0 - float(group.together[members][finding])
            for cause in alone:
                off *= 1.0 - float(network.q[cause, finding])
            self.chances[causes, name] = 1.0 - off
        return self.chances[causes, name]
