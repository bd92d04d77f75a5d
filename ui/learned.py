"""Words learned from closed cases, for the next start: gathered, kept in a file, told; Qt-free.

Learning one closing takes some hundredths of a second, so what was learned is kept beside the
settings: a start takes the numbers from there, and learns anew beside the window if other cases
are closed by now. What is kept are the learned numbers to the last digit.
"""

import json
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from itertools import takewhile
from pathlib import Path
from typing import get_args

from diagnose.learning import Closing, Learned, Lesson, closing_of, replay
from diagnose.learning.rewording import reworded
from diagnose.learning.words import Key, Kind
from diagnose.records.kept import Closing as Ended
from diagnose.records.store import Store
from knowledge.model import KnowledgeBase
from ui.closing import names_of

_STAGE = 10  # closings between two stages that are kept
LATEST = 500  # closings; what was learned from older ones has faded by then
_KINDS: Mapping[Kind, str] = {
    "link": "how often one thing brings another",
    "leak": "how often a sign comes without a cause",
    "rate": "how often causes come",
    "cause": "how often this cause comes",
}


@dataclass(frozen=True)
class Wording:
    """Learned numbers as they are kept.

    Attributes
    ----------
    version : str
        Of the base they were learned with.
    of : str
        Mark of the closings they were learned from; see `mark_of`.
    closings : int
        How many of these counted.
    numbers : Mapping
        By kind and name, as `diagnose.learning.words` has them.
    """

    version: str
    of: str
    closings: int
    numbers: Mapping[Key, float]


@dataclass(frozen=True)
class Line:
    """One line of the ledger: a closed case, and what it did.

    Attributes
    ----------
    id, title : str
    closed : str
        When, as an ISO time.
    causes : tuple of str
        Names of what was found.
    sure : str
    left_out : bool
        Whether the user took it out.
    lesson : Lesson or None
        What it taught; None while that is not known, or where it is left out.
    """

    id: str
    title: str
    closed: str
    causes: tuple[str, ...]
    sure: str
    left_out: bool
    lesson: Lesson | None = None


@dataclass(frozen=True, eq=False)
class Lessons:
    """What the closed cases teach.

    Attributes
    ----------
    learned : Learned
    lines : tuple of Line
        In the order in which they were closed.
    older : int
        Cases closed before these, which nothing is learned from any more.
    mark : str
        As `mark_of` gives it.
    stages : tuple of Learned
        What was learned on the way, every ten closings.
    """

    learned: Learned
    lines: tuple[Line, ...]
    older: int
    mark: str
    stages: tuple[Learned, ...] = ()

    @property
    def counted(self) -> int:
        """How many closings counted for something."""
        return sum(lesson.weight > 0.0 for lesson in self.learned.lessons)


def listed(store: Store) -> tuple[tuple[Ended, ...], int]:
    """Give the closed cases to learn from in the order they were closed, and how many are older.

    Raises
    ------
    StoreError
        If the store can't give them.
    """
    ended = sorted(store.closings(), key=lambda e: (e.closed or "", e.id))
    return tuple(ended[-LATEST:]), max(0, len(ended) - LATEST)


def mark_of(base: KnowledgeBase, ended: Iterable[Ended], left_out: Iterable[str]) -> str:
    """Give a mark of what is learned from: the same for the same base and the same closings."""
    out = set(left_out)
    told = [(e.id, e.causes, e.sure, e.closed) for e in ended if e.id not in out]
    return blake2b(repr((base.version, told)).encode(), digest_size=12).hexdigest()


def learn(
    base: KnowledgeBase,
    store: Store,
    left_out: Sequence[str] = (),
    pause: Callable[[int, int], bool] = lambda _done, _of: False,
    before: Lessons | None = None,
) -> Lessons | None:
    """Learn from the closed cases of a store.

    Parameters
    ----------
    base : KnowledgeBase
        As shipped, with the shop's own folders.
    store : Store
    left_out : sequence of str
        Ids of cases that are not learned from.
    pause : callable
        Called after each closing that is learned, with how many are and how many are to be;
        nobody waits any more once it gives True.
    before : Lessons, optional
        What was learned the last time. Where the first closings are the same, it goes on from the
        last stage they share: so leaving out a case that was closed lately takes no time.

    Returns
    -------
    Lessons or None
        None if nobody waits any more. Without the cases of `left_out` the numbers are, to the last
        digit, as if these had never been closed.

    Raises
    ------
    StoreError
        If the store can't give the cases.
    """
    ended, older = listed(store)
    out = set(left_out)
    lines, closings = [], []
    for one in ended:
        case = store.read(one.id).case
        line = Line(
            one.id,
            case.title,
            one.closed or "",
            names_of(base, one.causes),
            one.sure,
            one.id in out,
        )
        lines.append(line)
        closing = None if line.left_out else closing_of(one.id, case)
        if closing is not None and _is_known(base, closing):
            closings.append(closing)
    stages = _shared(base, closings, before)
    learned = stages[-1] if stages else replay(base, ())
    for closing in closings[len(learned.closings) :]:
        learned = learned.after(closing)
        if len(learned.closings) % _STAGE == 0:
            stages.append(learned)
        if pause(len(learned.closings), len(closings)):
            return None
    taught = {lesson.closing: lesson for lesson in learned.lessons}
    told = tuple(replace(line, lesson=taught.get(line.id)) for line in lines)
    return Lessons(learned, told, older, mark_of(base, ended, left_out), tuple(stages))


def _shared(
    base: KnowledgeBase, closings: Sequence[Closing], before: Lessons | None
) -> list[Learned]:
    """Give the stages of before that some closings pass through as well."""
    if before is None or before.learned.base is not base:
        return []
    pairs = zip(before.learned.closings, closings, strict=False)
    same = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))
    return [stage for stage in before.stages if len(stage.closings) <= same]


def _is_known(base: KnowledgeBase, closing: Closing) -> bool:
    """Whether the base knows all that was answered; an older case may name what is gone."""
    pools: Mapping[str, Iterable[str]] = {
        "complaint": base.complaints,
        "check": base.checks,
        "work": base.work,
        "repair": base.causes,
    }
    subjects = (entry.subject for entry in closing.case.entries)
    named = {cause for some in closing.found for cause in some}
    return named <= base.causes.keys() and all(name in pools[kind] for kind, name in subjects)


def wording_of(lessons: Lessons) -> Wording:
    """Give what is kept of the lessons for the next start."""
    learned = lessons.learned
    numbers = {move.key: move.now for move in learned.moves()}
    return Wording(learned.base.version, lessons.mark, lessons.counted, numbers)


def applied(base: KnowledgeBase, wording: Wording) -> KnowledgeBase:
    """Give the base with learned numbers, as `Learned.applied` does; the same base without any."""
    if wording.version != base.version or not wording.numbers:
        return base
    moved = dict(wording.numbers)
    digest = blake2b(repr(sorted(moved.items())).encode(), digest_size=6).hexdigest()
    return replace(reworded(base, moved), version=f"{base.version[:20]}+{digest}")


def read_wording(path: Path) -> Wording | None:
    """Read learned numbers; None where there are none, or they make no sense."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        numbers = {(kind, str(name)): float(p) for kind, name, p in data["numbers"]}
        wording = Wording(str(data["version"]), str(data["of"]), int(data["closings"]), numbers)
    except (OSError, ValueError, KeyError, TypeError):
        return None
    sane = all(kind in get_args(Kind) and 0.0 <= p <= 1.0 for (kind, _), p in numbers.items())
    return wording if sane else None


def write_wording(path: Path, wording: Wording) -> None:
    """Keep learned numbers; the old file stays whole until the new one is.

    Raises
    ------
    OSError
        If that can't be done.
    """
    numbers = [[kind, name, p] for (kind, name), p in wording.numbers.items()]
    data = {
        "version": wording.version,
        "of": wording.of,
        "closings": wording.closings,
        "numbers": numbers,
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(
        "w", encoding="utf-8", dir=path.parent, prefix=".learned.", delete=False
    ) as file:
        json.dump(data, file)
    Path(file.name).replace(path)


def move_name(base: KnowledgeBase, key: Key) -> tuple[str, str]:
    """Give the name of what has moved, and what kind of number it is."""
    kind, name = key
    title = base.causes[name].name if kind == "cause" and name in base.causes else f"“{name}”"
    return title, _KINDS[kind]


def in_hundred(p: float) -> str:
    """Give a chance or a share as a percentage with the digits that tell it from its neighbours."""
    percent = 100.0 * p
    digits = 0 if percent >= 10.0 else 1 if percent >= 1.0 else 2
    return f"{percent:.{digits}f} %"
