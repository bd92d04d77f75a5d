"""Rules for pairs of causes: each is told apart by something, or the base says why it need not be.

What tells two causes apart hangs on the set-up and on what its gauges show, so these rules stand
here and not in `knowledge.lint`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.apart import Pair, pairs
from knowledge.lint import Found, Issue, Severity, gather_issues
from knowledge.model import KnowledgeBase


@dataclass(frozen=True)
class _View:
    """A base with what the rules look at."""

    base: KnowledgeBase

    @cached_property
    def pairs(self) -> Mapping[frozenset[str], Pair]:
        """Pairs that are taken for each other, by the ids of the two causes."""
        return {frozenset(pair.causes): pair for pair in pairs(self.base)}


def apart_issues(base: KnowledgeBase) -> tuple[Issue, ...]:
    """Hold what the base says of pairs of causes against what tells them apart.

    Parameters
    ----------
    base : KnowledgeBase

    Returns
    -------
    tuple of Issue
        Sorted by place.
    """
    return gather_issues(base, RULES, _View(base))


def _inseparable(view: _View) -> Found:
    for pair in view.pairs.values():
        one, other = pair.causes
        if pair.cheapest is None and not pair.because:
            where = f"the set-up {pair.setup!r}" if pair.setup else "a set-up that is not shipped"
            yield ("causes", one), f"no check tells {one!r} from {other!r} in {where}"


def _told_apart(view: _View) -> Found:
    for one, cause in view.base.causes.items():
        for other in cause.alike:
            pair = view.pairs.get(frozenset((one, other)))
            if pair is None:
                yield ("causes", one), f"nobody takes {one!r} for {other!r}, yet they are 'alike'"
            elif pair.cheapest is not None:
                yield (
                    ("causes", one),
                    f"{pair.cheapest.id!r} tells {one!r} from {other!r}, yet they are 'alike'",
                )


RULES: Mapping[str, tuple[Severity, Callable[[_View], Found]]] = {
    "inseparable": ("error", _inseparable),
    "told-apart": ("error", _told_apart),
}
