"""Rules across files: what a base that loads can still have wrong.

Each rule has an id and yields issues at the place of the record. A shipped base has none.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from knowledge import model
from knowledge.marks import Position
from knowledge.mentions import mentions
from knowledge.raw import KINDS
from knowledge.tree import Tree, gate_groups

MAX_TOGETHER = 8
_NOTICEABLE = 0.1
_SHOWS = 0.5
_APART = 0.3
_RATES = (1.0, 1.4)

Reach = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, order=True)
class Issue:
    """One thing the linter found."""

    position: Position
    rule: str
    severity: Literal["error", "warning"]
    message: str

    def __str__(self) -> str:
        """Give place, severity, message and rule in one line."""
        return f"{self.position}  {self.severity}: {self.message} [{self.rule}]"


@dataclass(frozen=True)
class SourceCount:
    """How many values and words have a published source, and how many have not."""

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
    tree = Tree(base, {})
    reach = {cause: tree.reach((cause,)) for cause in base.causes}
    issues: list[Issue] = []
    for rule, (severity, find) in RULES.items():
        for (kind, name), message in find(base, reach):
            place = base.places.get((kind, name), Position(kind, 1, 1))
            issues.append(Issue(place, rule, severity, message))
    return tuple(sorted(issues))


def count_sources(base: model.KnowledgeBase) -> SourceCount:
    """Count every number, limit and word of the base by where it comes from."""
    counts: Counter[str] = Counter()
    for kind in KINDS:
        for record in getattr(base, kind).values():
            sources = getattr(record, "source", None)
            if sources is None:
                continue
            links = {**getattr(record, "brings", {}), **getattr(record, "shows", {})}
            counts[_grade(sources)] += 1
            for strength in links.values():
                counts[_grade(strength.source or sources)] += 1
    return SourceCount(counts["published"], counts[model.COMMON_PRACTICE], counts[model.JUDGEMENT])


def _grade(sources: tuple[str, ...]) -> str:
    for grade in (model.JUDGEMENT, model.COMMON_PRACTICE):
        if grade in sources:
            return grade
    return "published"


Found = Iterator[tuple[tuple[str, str], str]]


def _unreachable(base: model.KnowledgeBase, reach: Reach) -> Found:
    for kind in ("mechanisms", "complaints", "findings"):
        for name in getattr(base, kind):
            together = any(name in Tree(base, {}).reach(group) for group in gate_groups(base))
            if not together and not any(name in nodes for nodes in reach.values()):
                yield (kind, name), f"no cause leads to {name!r}"
    for name, mechanism in base.mechanisms.items():
        into_gate = any(name in m.of for m in base.mechanisms.values())
        if not (mechanism.brings or mechanism.shows or into_gate):
            yield ("mechanisms", name), f"{name!r} leads to nothing"


def _mute_causes(base: model.KnowledgeBase, reach: Reach) -> Found:
    for name, nodes in reach.items():
        if not any(c in nodes for c in base.complaints):
            in_gate = any(name in group for group in gate_groups(base))
            if not in_gate:
                yield ("causes", name), f"{name!r} leads to no complaint"


def _unproved(base: model.KnowledgeBase, reach: Reach) -> Found:
    read = {finding for check in base.checks.values() for finding in check.reads()}
    for name, nodes in reach.items():
        proving = [
            f for f in read if nodes.get(f, 0.0) >= _SHOWS and _is_specific(base, reach, name, f)
        ]
        if not proving:
            yield ("causes", name), f"no check can prove {name!r}"


def _is_specific(base: model.KnowledgeBase, reach: Reach, cause: str, finding: str) -> bool:
    """Whether at least half of those that show a finding have this cause."""
    mine = base.rate(base.causes[cause]) * reach[cause].get(finding, 0.0)
    all_ = sum(base.rate(base.causes[c]) * nodes.get(finding, 0.0) for c, nodes in reach.items())
    return mine >= 0.5 * all_


def _inseparable(base: model.KnowledgeBase, reach: Reach) -> Found:
    read = [finding for check in base.checks.values() for finding in check.reads()]
    looks = (*base.complaints, *dict.fromkeys(read))
    for one, other in combinations(reach, 2):
        gap = max(abs(reach[one].get(f, 0.0) - reach[other].get(f, 0.0)) for f in looks)
        if gap < _APART:
            yield ("causes", one), f"no check tells {one!r} from {other!r}"


def _idle_checks(base: model.KnowledgeBase, reach: Reach) -> Found:
    for name, check in base.checks.items():
        strengths = [nodes.get(f, 0.0) for f in check.reads() for nodes in reach.values()]
        if not strengths or max(strengths) < _NOTICEABLE:
            yield ("checks", name), f"the answers of {name!r} say nothing about any cause"
        said = [tuple(sorted(a.shows.items())) for a in check.answers]
        if len(set(said)) < len(said):
            yield ("checks", name), f"two answers of {name!r} say the same"


def _unread(base: model.KnowledgeBase, reach: Reach) -> Found:
    del reach
    read = {finding for check in base.checks.values() for finding in check.reads()}
    for name in base.findings:
        if name not in read:
            yield ("findings", name), f"no check looks for {name!r}"


def _unused(base: model.KnowledgeBase, reach: Reach) -> Found:
    del reach
    used: dict[str, set[str]] = {
        "cautions": set(),
        "sources": set(),
        "zones": set(),
        "facts": set(),
    }
    for kind in KINDS:
        for record in getattr(base, kind).values():
            for mention in mentions(kind, record.model_dump(by_alias=True)):
                for pool in set(mention.pools) & used.keys():
                    used[pool].add(mention.name.split(".")[0])
    for pool, names in used.items():
        for name in getattr(base, pool):
            if name not in names:
                yield (pool, name), f"nothing uses {name!r}"
    for name, work in base.work.items():
        if not any(a.changes or a.cures for a in work.answers):
            yield ("work", name), f"{name!r} changes nothing"


def _rate_sum(base: model.KnowledgeBase, reach: Reach) -> Found:
    del reach
    total = sum(base.rate(cause) for cause in base.causes.values())
    if not _RATES[0] <= total <= _RATES[1]:
        first = next(iter(base.causes), "")
        yield (
            ("causes", first),
            f"the rates sum to {total:.2f}, not to between {_RATES[0]} and {_RATES[1]}",
        )


def _gates(base: model.KnowledgeBase, reach: Reach) -> Found:
    for name, mechanism in base.mechanisms.items():
        if mechanism.gate is model.Gate.ANY:
            continue
        for cause, nodes in reach.items():
            if name in nodes:
                yield (
                    ("mechanisms", name),
                    f"{cause!r} alone opens the gate {name!r}: its cut set is not minimal",
                )
    for group in gate_groups(base):
        if len(group) > MAX_TOGETHER:
            gate = next(n for n, m in base.mechanisms.items() if m.gate is not model.Gate.ANY)
            yield (
                ("mechanisms", gate),
                f"{len(group)} causes hang together in gates, at most {MAX_TOGETHER} may",
            )


def _no_caution_under(base: model.KnowledgeBase, reach: Reach) -> Found:
    del reach
    levels = list(base.levels)
    for name, check in base.checks.items():
        if (
            "under" in levels
            and levels.index(check.from_) >= levels.index("under")
            and not check.cautions
        ):
            yield ("checks", name), f"{name!r} is done under the vehicle and has no caution"


RULES: Mapping[
    str, tuple[Literal["error", "warning"], Callable[[model.KnowledgeBase, Reach], Found]]
] = {
    "unreachable": ("error", _unreachable),
    "no-complaint": ("error", _mute_causes),
    "no-proof": ("error", _unproved),
    "inseparable": ("error", _inseparable),
    "idle-check": ("error", _idle_checks),
    "unread-finding": ("error", _unread),
    "gate": ("error", _gates),
    "no-caution": ("error", _no_caution_under),
    "unused": ("warning", _unused),
    "rate-sum": ("warning", _rate_sum),
}
