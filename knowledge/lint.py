"""Rules across files: what a base that loads can still have wrong.

Each rule has an id and yields issues at the place of the record. A shipped base has none.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Any, Literal, TypeVar

from knowledge import model
from knowledge.marks import Position
from knowledge.mentions import mentions
from knowledge.raw import KINDS
from knowledge.tree import Tree, gate_groups, share_with

_NOTICEABLE = 0.1
_SHOWS = 0.5
_RATES = (1.0, 1.4)
_VOICES = ("do", "say", "why")


V = TypeVar("V")  # what the rules look at
Severity = Literal["error", "warning"]
Found = Iterator[tuple[tuple[str, str], str]]  # kind and id of a record, and what is wrong with it


@dataclass(frozen=True, order=True)
class Issue:
    """One thing the linter found."""

    position: Position
    rule: str
    severity: Severity
    message: str

    def __str__(self) -> str:
        """Give place, severity, message and rule in one line."""
        return f"{self.position}  {self.severity}: {self.message} [{self.rule}]"


@dataclass(frozen=True)
class SourceCount:
    """How many records and their numbers have a published source, and how many have not."""

    published: int
    common_practice: int
    judgement: int


def lint(base: model.KnowledgeBase) -> tuple[Issue, ...]:
    """Run every rule.

    Parameters
    ----------
    base : KnowledgeBase

    Returns
    -------
    tuple of Issue
        Sorted by place.
    """
    return gather_issues(base, RULES, _View(base))


def gather_issues(
    base: model.KnowledgeBase,
    rules: Mapping[str, tuple[Severity, Callable[[V], Found]]],
    view: V,
) -> tuple[Issue, ...]:
    """Run rules on a view of a base; gives what they find, sorted by place."""
    issues: list[Issue] = []
    for rule, (severity, find) in rules.items():
        for (kind, name), message in find(view):
            place = base.places.get((kind, name), Position(kind, 1, 1))
            issues.append(Issue(place, rule, severity, message))
    return tuple(sorted(issues))


def count_sources(base: model.KnowledgeBase) -> SourceCount:
    """Count records, and every strength, shift and change in them, by their weakest source.

    What has no source of its own stands on that of its record. The scale counts as one record.
    """
    counts = Counter([_grade(base.scale.source)])
    for kind in KINDS:
        for record in getattr(base, kind).values():
            if hasattr(record, "source"):
                counts.update(_grade(sources) for sources in _stands_on(record, record.source))
    return SourceCount(counts["published"], counts[model.COMMON_PRACTICE], counts[model.JUDGEMENT])


def _stands_on(value: Any, sources: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Sources of a record itself and of each strength, shift and change written in it."""
    if isinstance(value, model.Record):
        own = getattr(value, "source", None)
        if own is not None:
            yield own
        elif isinstance(value, model.Strength | model.Shift):
            yield sources
        if isinstance(value, model.WorkAnswer):
            yield from (sources for _ in value.changes)
        for name in value.model_fields_set:
            yield from _stands_on(getattr(value, name), sources)
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from _stands_on(item, sources)
    elif isinstance(value, tuple):
        for item in value:
            yield from _stands_on(item, sources)


def _grade(sources: tuple[str, ...]) -> str:
    for grade in (model.JUDGEMENT, model.COMMON_PRACTICE):
        if grade in sources:
            return grade
    return "published"


@dataclass(frozen=True)
class _View:
    """A base with what the rules look at, each worked out once."""

    base: model.KnowledgeBase

    @cached_property
    def reach(self) -> Mapping[str, Mapping[str, float]]:
        """Cause id -> node id -> chance that the cause alone leads there."""
        return {cause: self._tree.reach((cause,)) for cause in self.base.causes}

    @cached_property
    def together(self) -> tuple[Mapping[str, float], ...]:
        """Node id -> chance, with all the causes that gates join."""
        return tuple(self._tree.reach(group) for group in gate_groups(self.base))

    @cached_property
    def readers(self) -> Mapping[str, tuple[model.Check, ...]]:
        """Finding or complaint id -> the checks that read it."""
        found: dict[str, list[model.Check]] = {}
        for check in self.base.checks.values():
            for name in check.reads():
                found.setdefault(name, []).append(check)
        return {name: tuple(checks) for name, checks in found.items()}

    @cached_property
    def rate(self) -> Mapping[str, float]:
        """Cause id -> its greatest rate, over all set-ups."""
        return {
            name: max(map(self.base.rate, (cause.rate, *cause.rate_where)))
            for name, cause in self.base.causes.items()
        }

    @cached_property
    def weight(self) -> Mapping[str, float]:
        """Node id -> share of comebacks in which any one cause leads there."""
        total: defaultdict[str, float] = defaultdict(float)
        for cause, nodes in self.reach.items():
            for name, chance in nodes.items():
                total[name] += self.rate[cause] * chance
        return total

    @cached_property
    def _tree(self) -> Tree:
        return Tree(self.base, {})


def _unreachable(view: _View) -> Found:
    reached = {name for nodes in (*view.reach.values(), *view.together) for name in nodes}
    for kind in ("mechanisms", "complaints", "findings"):
        for name in getattr(view.base, kind):
            if name not in reached:
                yield (kind, name), f"no cause leads to {name!r}"
    inputs = {name for m in view.base.mechanisms.values() for name in m.of}
    for name, mechanism in view.base.mechanisms.items():
        if not (mechanism.brings or mechanism.shows or name in inputs):
            yield ("mechanisms", name), f"{name!r} leads to nothing"


def _mute_causes(view: _View) -> Found:
    joined = {name for group in gate_groups(view.base) for name in group}
    for name, nodes in view.reach.items():
        if name not in joined and not nodes.keys() & view.base.complaints.keys():
            yield ("causes", name), f"{name!r} leads to no complaint"


def _unproved(view: _View) -> Found:
    """A cause needs a look of its own, or one whose other likely causes have looks of their own."""
    rivals = {name: _rivals(view, cause) for name, cause in view.base.causes.items()}
    own = {name for name, looks in rivals.items() if any(not others for others in looks)}
    for name, looks in rivals.items():
        if not any(others <= own for others in looks):
            yield ("causes", name), f"no check can prove {name!r}"


def _rivals(view: _View, cause: model.Cause) -> list[frozenset[str]]:
    """For each look that mostly shows a cause: the other causes that come with it as often.

    Nothing counts as a rival where at least half of those that show the finding have this cause.
    """
    looks = []
    for finding, chance in view.reach[cause.id].items():
        if chance >= _SHOWS and _can_be_seen(view, cause, finding):
            mine = view.rate[cause.id] * chance
            often = (
                (other, view.rate[other] * nodes.get(finding, 0.0))
                for other, nodes in view.reach.items()
            )
            others = {other for other, share in often if share >= 0.5 * mine} - {cause.id}
            specific = mine >= 0.5 * view.weight[finding]
            looks.append(frozenset[str]() if specific else frozenset(others))
    return looks


def _can_be_seen(view: _View, cause: model.Cause, finding: str) -> bool:
    """Whether a check that fits the cause's set-ups can say that the finding is there."""
    return any(
        _fit_together(check.when, cause.when)
        and (
            check.finding is not None
            or any(a.shows.get(finding) in {"yes", "probably"} for a in check.answers)
        )
        for check in view.readers.get(finding, ())
    )


def _fit_together(*needs: model.Needs) -> bool:
    """Whether there is a set-up that meets all the conditions."""
    facts = {fact for need in needs for fact in need}
    return all(
        frozenset.intersection(*(frozenset(need[fact]) for need in needs if fact in need))
        for fact in facts
    )


def _idle_checks(view: _View) -> Found:
    for name, check in view.base.checks.items():
        fitting = [
            nodes
            for cause, nodes in view.reach.items()
            if _fit_together(check.when, view.base.causes[cause].when)
        ]
        everything = (*fitting, *view.together)
        spreads = []
        for finding in check.reads():
            chances = [nodes.get(finding, 0.0) for nodes in everything] or [0.0]
            spreads.append(max(chances) - (min(chances) if len(chances) > 1 else 0.0))
        if max(spreads, default=0.0) < _NOTICEABLE:
            yield ("checks", name), f"the answers of {name!r} tell no cause from another"
        said = {tuple(sorted(a.shows.items())) for a in check.answers}
        if check.answers and len(said) == 1:
            yield ("checks", name), f"all answers of {name!r} say the same"


def _voices(view: _View) -> Found:
    for name, check in view.base.checks.items():
        spoken = [" ".join(getattr(check, voice).split()).casefold() for voice in _VOICES]
        if not all(spoken) or len(set(spoken)) < len(spoken):
            listed = ", ".join(_VOICES)
            yield ("checks", name), f"{name!r} does not have a voice of its own in each of {listed}"
    for kind in ("facts", "complaints", "work"):
        for name, record in getattr(view.base, kind).items():
            if not record.ask.strip():
                yield (kind, name), f"{name!r} has no question to ask"


def _untold(view: _View) -> Found:
    for name, cause in view.base.causes.items():
        for text, what in (
            (cause.before_closing, "what to check before closing up"),
            (cause.next_time, "how to avoid it next time"),
        ):
            if not text.strip():
                yield ("causes", name), f"{name!r} does not say {what}"


def _unread(view: _View) -> Found:
    for name in view.base.findings:
        if name not in view.readers:
            yield ("findings", name), f"no check looks for {name!r}"


def _unread_measurements(view: _View) -> Found:
    taken = {check.gauge for check in view.base.checks.values()}
    for name in view.base.measurements:
        if name not in taken:
            yield ("measurements", name), f"no check takes {name!r}"


def _unshifted(view: _View) -> Found:
    """Readings that stand alone and would be the same whatever is wrong."""
    shifted = {name for cause in view.base.causes.values() for name in cause.shifts}
    for name, measurement in view.base.measurements.items():
        if measurement.healthy is not None and name not in shifted:
            yield ("measurements", name), f"no cause shifts {name!r}"


def _unused(view: _View) -> Found:
    base = view.base
    used: set[tuple[str, str]] = set()
    for kind in (*KINDS, "scale"):
        records = (base.scale,) if kind == "scale" else getattr(base, kind).values()
        for record in records:
            for mention in mentions(kind, record.model_dump(by_alias=True)):
                used.update((pool, mention.name) for pool in mention.pools)
    for kind in ("cautions", "sources", "zones", "facts", "levels"):
        for name in getattr(base, kind):
            if (kind, name) not in used:
                yield (kind, name), f"nothing uses {name!r}"
    for name, work in base.work.items():
        if not any(a.changes or a.cures for a in work.answers):
            yield ("work", name), f"{name!r} changes nothing"


def _rate_sum(view: _View) -> Found:
    causes = view.base.causes
    total = sum(share_with(view.base, {}, cause) for cause in causes.values())
    if not _RATES[0] <= total <= _RATES[1]:
        wanted = f"between {_RATES[0]} and {_RATES[1]}"
        first = next(iter(causes), "")
        yield ("causes", first), f"the rates sum to {total:.2f} over all set-ups, not to {wanted}"


def _overlapping_rates(view: _View) -> Found:
    for name, cause in view.base.causes.items():
        whens = [rate.when for rate in cause.rate_where]
        if not all(whens):
            yield ("causes", name), f"a rate of {name!r} does not say where it holds"
        elif any(_fit_together(one, other) for one, other in combinations(whens, 2)):
            yield ("causes", name), f"the rates of {name!r} overlap: a vehicle can have two"


def _gates(view: _View) -> Found:
    """Gates with cut sets that are not minimal: one of their causes does it alone."""
    for name, gate in view.base.mechanisms.items():
        if gate.gate is model.Gate.ANY:
            continue
        here = ("mechanisms", name)
        if len(set(gate.of)) < len(gate.of):
            yield here, f"the gate {name!r} lists an input twice"
        for cause, nodes in view.reach.items():
            if name in nodes:
                yield here, f"{cause!r} alone opens the gate {name!r}: its cut set is not minimal"
                continue
            for effect, strength in (*gate.brings.items(), *gate.shows.items()):
                alone = nodes.get(effect, 0.0) >= view.base.strength(strength)
                if alone and nodes.keys() & set(gate.of):
                    yield (
                        here,
                        f"{cause!r} alone leads to {effect!r} as surely as the gate {name!r} does: "
                        "the cut set is not minimal",
                    )


def _no_caution_under(view: _View) -> Found:
    levels = list(view.base.levels)
    if "under" not in levels:
        return
    for name, check in view.base.checks.items():
        if levels.index(check.from_) >= levels.index("under") and not check.cautions:
            yield ("checks", name), f"{name!r} is done under the vehicle and has no caution"


RULES: Mapping[str, tuple[Severity, Callable[[_View], Found]]] = {
    "unreachable": ("error", _unreachable),
    "no-complaint": ("error", _mute_causes),
    "no-proof": ("error", _unproved),
    "idle-check": ("error", _idle_checks),
    "voices": ("error", _voices),
    "untold": ("warning", _untold),
    "unread-finding": ("error", _unread),
    "unread-measurement": ("error", _unread_measurements),
    "gate": ("error", _gates),
    "rate-where": ("error", _overlapping_rates),
    "no-caution": ("error", _no_caution_under),
    "unshifted": ("warning", _unshifted),
    "unused": ("warning", _unused),
    "rate-sum": ("warning", _rate_sum),
}
