"""The moves an apprentice can choose from, by where they are done, and what each would take."""

from collections.abc import Iterator
from typing import NamedTuple

from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import Run, possible_moves
from diagnose.practice.scoring import act_words
from diagnose.practice.shop import Shop
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.search import Index
from ui.widgets.rows import Ranked

ASK, REPAIR = "ask", "repair"
_MINUTE = 1.0 / 60.0  # hours


class Group(NamedTuple):
    """Moves of one kind, or checks done from one level."""

    id: str
    name: str
    acts: tuple[Key, ...]


class Toll(NamedTuple):
    """Hours that a move takes itself, and those of the way to where it is done."""

    own: float
    way: float


def toll_of(shop: Shop, act: Key) -> Toll:
    """Give what a move would take from where the vehicle stands.

    Parameters
    ----------
    shop : Shop
    act : tuple of str

    Returns
    -------
    Toll
        Of handing over without the hours of whoever takes over.
    """
    base, (kind, name) = shop.base, act
    if kind == "ask":
        return Toll(base.scale.ask_minutes / 60.0, 0.0)
    if act in {DRIVE, HAND_OVER}:
        own = shop.drive_hours if act == DRIVE else base.scale.hand_over
        return Toll(own, shop.access.way_out(shop.here))
    check = kind == "check"
    own = base.checks[name].minutes / 60.0 if check else base.causes[name].repair.hours
    level = base.checks[name].from_ if check else base.causes[name].repair.from_
    return Toll(own, shop.access.move(shop.here, shop.access.index(level))[0])


def toll_words(shop: Shop, act: Key) -> str:
    """Say what a move would take."""
    toll = toll_of(shop, act)
    if act == HAND_OVER:
        return f"{hours(toll.own + toll.way)}, and what the next one needs"
    if toll.way < _MINUTE:
        return hours(toll.own)
    way = "to close it up" if act == DRIVE else "to get there"
    return f"{hours(toll.own)} and {hours(toll.way)} {way}"


def where_words(base: KnowledgeBase, act: Key) -> str:
    """Say where a move is done; empty for drives and handing over."""
    kind, name = act
    if kind == "ask":
        return "ask the driver"
    if kind == "check":
        return base.levels[base.checks[name].from_].name
    return base.levels[base.causes[name].repair.from_].name if kind == "repair" else ""


class Choices:
    """All moves of an exercise but driving and handing over, which have buttons of their own.

    Parameters
    ----------
    run : Run
        Its set-up says what is possible; that stays the same to its end.
    """

    def __init__(self, run: Run) -> None:
        base = run.shop.base
        self._base = base
        self.groups = tuple(_groups(base, possible_moves(run)))
        self._index = Index({_id(act): _texts(base, act) for g in self.groups for act in g.acts})

    def acts(self, group: str) -> tuple[Key, ...]:
        """Give the moves of a group."""
        return next(g.acts for g in self.groups if g.id == group)

    def found(self, typed: str, group: str) -> tuple[Key, ...]:
        """List the moves that a text speaks of, best first; those of a group where none is typed.

        Parameters
        ----------
        typed : str
        group : str
            Id of one of `groups`.
        """
        if not typed.strip():
            return self.acts(group)
        named = self._index.find(typed) or self._index.suggest(typed)
        return tuple(_act(name) for name in named)

    def row(self, shop: Shop, act: Key) -> Ranked:
        """Give a move as a row: its name, where it is done, what it takes, whether it was done."""
        name = title_of(self._base, act)
        words = f"{where_words(self._base, act)}, {toll_words(shop, act)}"
        sign = "caution" if cautions_before(self._base, act) else ""
        return Ranked(name, words, note="done" if act in shop.done else "", sign=sign)


def title_of(base: KnowledgeBase, act: Key | None) -> str:
    """Name a move as the head of a card; None: it is given back without a drive."""
    if act is not None and act[0] == "ask":
        return base.complaints[act[1]].ask
    words = act_words(base, act)
    return words[:1].upper() + words[1:]


def _id(act: Key) -> str:
    return f"{act[0]} {act[1]}"


def _act(name: str) -> Key:
    kind, _, record = name.partition(" ")
    # The kinds of the index are those of the moves it was made of.
    return kind, record  # type: ignore[return-value]


def _groups(base: KnowledgeBase, moves: tuple[Key, ...]) -> Iterator[Group]:
    yield Group(ASK, "Ask the driver", tuple(act for act in moves if act[0] == "ask"))
    for level in base.levels.values():
        acts = tuple(a for a in moves if a[0] == "check" and base.checks[a[1]].from_ == level.id)
        if acts:
            yield Group(level.id, f"Checks {level.name}", acts)
    repairs = tuple(act for act in moves if act[0] == "repair")
    yield Group(
        REPAIR,
        "Put something right",
        tuple(sorted(repairs, key=lambda act: base.causes[act[1]].name.lower())),
    )


def _texts(base: KnowledgeBase, act: Key) -> tuple[str, ...]:
    """What a move is found by, its name first."""
    kind, name = act
    if kind == "ask":
        complaint = base.complaints[name]
        return complaint.ask, complaint.name, *complaint.words
    if kind == "repair":
        return f"put right {base.causes[name].name}", base.causes[name].repair.do
    check = base.checks[name]
    measured = (base.measurements[check.gauge].name,) if check.gauge else ()
    return check.name, *measured, *check.tools
