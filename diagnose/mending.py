"""What was put right: what a repair may have cured, and what it does to the states of the causes.

Work done since, with the complaint still there, and repairs that were driven with are *driven*:
the complaint is about the time after them. A repair that nobody has driven with is *pending*: the
complaint was told before it, and only what is seen after it tells of the state it has left.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from diagnose.case import NO_EVIDENCE, OUTCOMES, Case, Entry
from diagnose.errors import UnknownIdError
from diagnose.network import Network
from diagnose.noisy_or import Modes
from diagnose.tables import Floats
from knowledge.model import KnowledgeBase, Work, WorkAnswer

TELLING = 0.05  # a cause that shows a finding less often than this has not changed it


def repair_as_work(base: KnowledgeBase, cause: str) -> tuple[Work, str] | None:
    """Find the work, and its answer, that most surely cures a cause; None if no record does."""
    best: tuple[float, Work, str] | None = None
    for work in base.work.values():
        for answer in work.answers:
            if cause in answer.cures:
                chance = base.strength(answer.cures[cause])
                if best is None or chance > best[0]:
                    best = (chance, work, answer.id)
    return None if best is None else best[1:]


@lru_cache(maxsize=1024)
def cures_of(base: KnowledgeBase, cause: str) -> Mapping[str, float]:
    """Give what the repair of a cause may put right, and how surely.

    Parameters
    ----------
    base : KnowledgeBase
    cause : str
        Its id.

    Returns
    -------
    Mapping
        Cause id -> chance: the cause itself as its own repair says, and what else is cured by the
        work that most surely cures it.

    Raises
    ------
    KeyError
        If the base does not hold the cause.
    """
    own = {cause: base.strength(base.causes[cause].repair.cures)}
    found = repair_as_work(base, cause)
    if found is None:
        return own
    work, done = found
    cures = next(answer.cures for answer in work.answers if answer.id == done)
    return {**{other: base.strength(strength) for other, strength in cures.items()}, **own}


def unknown_answer(entry: Entry) -> UnknownIdError:
    """Make the error that says that an entry's answer is not known."""
    kind, name = entry.subject
    return UnknownIdError(
        f"{entry.answer!r} is no answer to the {kind} {name!r}.", "Correct the case file."
    )


def work_answer(base: KnowledgeBase, entry: Entry) -> WorkAnswer | None:
    """Give what an entry says of work; None if it is about something else, or is no evidence.

    Raises
    ------
    UnknownIdError
        If the base does not hold the work, or the work no such answer.
    """
    if entry.work is None or entry.answer in NO_EVIDENCE:
        return None
    if entry.work not in base.work:
        raise UnknownIdError(
            f"The knowledge base holds no work {entry.work!r}.", "Correct the case file."
        )
    found = next((a for a in base.work[entry.work].answers if a.id == entry.answer), None)
    if found is None:
        raise unknown_answer(entry)
    return found


@dataclass(frozen=True)
class Repair:
    """Something done since that may have cured causes.

    Attributes
    ----------
    entry : int
        Its timeline index.
    place : int
        Where it counts as done: what stands behind this index was seen after it.
    cures : Mapping
        Cause index -> chance that it cured the cause.
    pending : bool
        Whether nobody has driven since.
    """

    entry: int
    place: int
    cures: Mapping[int, float]
    pending: bool = False

    def changed(self, network: Network, finding: str) -> bool:
        """Whether it may have changed a finding."""
        f = network.finding_index[finding]
        return any(network.q[cause, f] >= TELLING for cause in self.cures)


@dataclass(frozen=True)
class Repairs:
    """All that was done since and may have cured something: first what was driven, then what not.

    Work that is told of while a repair is pending, with the complaint still there, was done before
    that repair, for nobody has driven since.
    """

    every: tuple[Repair, ...] = ()

    @property
    def driven(self) -> int:
        """How many of them the vehicle was driven after."""
        return sum(not repair.pending for repair in self.every)

    @property
    def pending(self) -> tuple[Repair, ...]:
        """Those that nobody has driven with."""
        return self.every[self.driven :]

    def before(self, entry: int) -> int:
        """How many had been done when an entry was made."""
        return sum(repair.place < entry for repair in self.every)


def repairs_in(network: Network, case: Case) -> Repairs:
    """Find the repairs of a case.

    Raises
    ------
    UnknownIdError
        If an entry names work or a cause that the base does not hold, or an answer it can't have.
    """
    told = [(i, e, _cures(network, e)) for i, e in enumerate(case.entries)]
    done = [(i, entry.is_pending, cures) for i, entry, cures in told if cures]
    first = next((i for i, pending, _ in done if pending), len(case.entries))
    made = [Repair(i, i if pending else min(i, first), c, pending) for i, pending, c in done]
    return Repairs(tuple(sorted(made, key=lambda r: (r.pending, r.entry))))


def _cures(network: Network, entry: Entry) -> Mapping[int, float]:
    """What an entry may have cured: cause index -> chance."""
    base = network.base
    if entry.repair is not None:
        if entry.repair not in base.causes:
            raise UnknownIdError(
                f"The knowledge base holds no cause {entry.repair!r}.", "Correct the case file."
            )
        if entry.answer not in OUTCOMES:
            raise unknown_answer(entry)
        named = cures_of(base, entry.repair)
    else:
        answer = work_answer(base, entry)
        if answer is None or entry.when != "since":
            return {}
        named = {cause: base.strength(strength) for cause, strength in answer.cures.items()}
    index = network.cause_index
    return {index[cause]: chance for cause, chance in named.items() if cause in index}


def with_cures(network: Network, modes: Modes, repairs: Repairs, done: Mapping[str, int]) -> Modes:
    """Split the modes of what was repaired by what each repair may have cured.

    Parameters
    ----------
    network : Network
    modes : Modes
        As if nothing had been repaired.
    repairs : Repairs
    done : Mapping
        Finding id -> how many repairs had been done when it was seen, for those that were.

    Returns
    -------
    Modes
        A mode says which causes the driver complained of: those that were there when the vehicle
        was driven last. What was seen at another time is turned on by those that were there then.
    """
    if not repairs.every:
        return modes
    when = np.array([done.get(finding, repairs.driven) for finding in network.findings])
    touched = modes.present[:, sorted({c for r in repairs.every for c in r.cures})].any(axis=1)
    sets = [frozenset(np.flatnonzero(row).tolist()) for row in modes.present]
    row_of = {(int(modes.component[i]), causes): i for i, causes in enumerate(sets)}
    split: dict[tuple[int, int, bytes], tuple[float, Floats]] = {}
    for i in np.flatnonzero(touched).tolist():
        component = int(modes.component[i])
        for weight, states in histories(float(modes.weight[i]), (sets[i],), repairs.every):
            rows = np.array([row_of[component, causes] for causes in states])
            links = modes.q[rows[when], np.arange(len(when))]
            key = (component, int(rows[repairs.driven]), links.tobytes())
            split[key] = (split.get(key, (0.0, links))[0] + weight, links)
    then = [row for _, row, _ in split]
    components = np.concatenate((modes.component[~touched], modes.component[then]))
    order = np.argsort(components, kind="stable")
    return Modes(
        components[order],
        np.concatenate((modes.weight[~touched], [w for w, _ in split.values()]))[order],
        np.concatenate((modes.present[~touched], modes.present[then]))[order],
        np.concatenate((modes.q[~touched], [links for _, links in split.values()]))[order],
    )


def histories(
    weight: float, states: tuple[frozenset[int], ...], repairs: tuple[Repair, ...]
) -> Iterator[tuple[float, tuple[frozenset[int], ...]]]:
    """Yield all that repairs may have done: its chance, and the causes left after each.

    Parameters
    ----------
    weight : float
        Chance of the state before.
    states : tuple of frozenset of int
        The causes before the first repair.
    repairs : tuple of Repair

    Yields
    ------
    tuple
        One state more than there are repairs.
    """
    if len(states) > len(repairs):
        yield weight, states
        return
    cures = repairs[len(states) - 1].cures
    left = states[-1]
    tried = [cause for cause in left if cause in cures]
    for size in range(len(tried) + 1):
        for cured in combinations(tried, size):
            chance = weight
            for cause in tried:
                chance *= cures[cause] if cause in cured else 1.0 - cures[cause]
            if chance > 0.0:
                yield from histories(chance, (*states, left.difference(cured)), repairs)
