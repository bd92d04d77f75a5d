"""What may have been there in a closed case, and how well it fits the answers.

Two questions are asked of a case. What the answers alone say is what the assessment would say: any
cause, or any two, each answer as evidence about one finding. What is said once it is known what was
found: that, or that and one more cause. What was found accounts for the complaints, so the one more
has turned none of them on, else it would have had to be put right as well; what else was seen
weighs it as `diagnose.learning.looks` says. More causes at once are left out: with 1.2 causes for
each comeback three come in one of a hundred.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.learning.paths import Sets
from diagnose.learning.views import View, chances_on, said
from diagnose.tables import Floats

_NEVER = 1e-9  # a complaint that was heard can always have come from elsewhere


@dataclass(frozen=True, eq=False)
class Hypotheses:
    """Sets of causes that may have been there.

    Attributes
    ----------
    held : Sets
    weight : ndarray, shape (H,)
        Up to a factor.
    """

    held: Sets
    weight: Floats

    def likeliest(self, least: float) -> "Hypotheses":
        """Leave out those below a share of the likeliest."""
        kept = self.weight >= least * self.weight.max()
        held = Sets(self.held.members[kept], self.held.rows[kept])
        return Hypotheses(held, self.weight[kept])


def anything(view: View) -> Hypotheses:
    """Any cause, or any two, by the answers alone, each as evidence about one finding."""
    held, answers = view.paths.pairs, view.answers
    on = chances_on(view, held, answers.findings, view.links[None], view.leaks[None])[0]
    likely = answers.absent + (answers.there - answers.absent) * on
    return _known(held, _chance(view, held), likely.prod(axis=1))


def _chance(view: View, held: Sets) -> Floats:
    """Weight of each set before the answers; what pads counts for nothing."""
    padded = np.append(view.odds, 1.0)
    weight = padded[held.members[:, 0]]
    for members in held.members.T[1:]:
        weight = weight * padded[members]
    return weight


def given(view: View, found: Iterable[frozenset[int]]) -> Hypotheses:
    """What was found, or that and one more cause, by the answers.

    Parameters
    ----------
    found : iterable of frozenset of int
        One of them was there.
    """
    answers, causes = view.answers, range(len(view.prior))
    alone = tuple(dict.fromkeys(found))
    more = [one | {c} for one in alone for c in causes if c not in one]
    behind = [i for i, one in enumerate(alone) for c in causes if c not in one]
    held = view.paths.sets_of((*alone, *more))
    on = chances_on(view, held, answers.complaints, view.links[None], view.leaks[None])[0]
    # What was found turned the complaints on, or not; the one more has turned on none of them.
    index = {f: i for i, f in enumerate(answers.findings.tolist())}
    at = [index[f] for f in answers.complaints.tolist()]
    mine = on[: len(alone)]
    told = (answers.absent[at] + (answers.there[at] - answers.absent[at]) * mine).prod(axis=1)
    kept = ((1.0 - on[len(alone) :]) / np.maximum(1.0 - mine[behind], _NEVER)).prod(axis=1)
    told = np.concatenate((told, told[behind] * kept))
    likely = said(view, held, view.links[None], view.leaks[None], freely=True)[0]
    return _known(held, _chance(view, held), told, likely)


def _known(held: Sets, weight: Floats, *likely: Floats) -> Hypotheses:
    """Weigh hypotheses; a likelihood that is nothing for all of them says nothing."""
    for some in likely:
        weighed = weight * some
        weight = weighed if weighed.any() else weight
    return Hypotheses(held, weight / weight.sum())


def presence(view: View, hypotheses: Hypotheses) -> Floats:
    """Chance that each cause was there, given that a hypothesis holds; shape (C,)."""
    members = hypotheses.held.members
    mass = np.repeat(hypotheses.weight, members.shape[1])
    chance = np.bincount(members.ravel(), mass, len(view.prior) + 1)
    return np.minimum(chance[:-1], 1.0)


def chance_of(hypotheses: Hypotheses, found: Sequence[frozenset[int]]) -> float:
    """Chance that one of some sets of causes was there, with or without others.

    Of a set that is larger than any hypothesis, as many as those hold.
    """
    members = hypotheses.held.members
    hit = np.zeros(len(members), dtype=bool)
    for one in found:
        hit |= np.isin(members, list(one)).sum(axis=1) >= min(len(one), members.shape[1])
    return float(hypotheses.weight[hit].sum())
