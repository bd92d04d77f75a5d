"""What a report names beside a name: vehicle and clutch, the kit's sheet, the case, sources."""

from collections.abc import Iterable, Iterator

from diagnose.assess import Assessment
from diagnose.kit_sheet import name_of
from diagnose.report.record import Figure, Named
from diagnose.system import clashes

_LONGEST_TITLE = 140  # letters: two or three lines on paper


def shortened(title: str) -> str:
    """Give a title in one line, cut where it is too long for the head of a page."""
    words = " ".join(title.split())
    return words if len(words) <= _LONGEST_TITLE else f"{words[: _LONGEST_TITLE - 1]}…"


def vehicle_rows(assessment: Assessment) -> Iterator[Named]:
    """Name the set-up as told, and whether the gearbox came out."""
    case, base = assessment.case, assessment.network.base
    if case.setup is not None:
        yield Named("Set-up", base.setups[case.setup].name)
    for fact, values in case.facts.items():
        record = base.facts[fact]
        yield Named(record.name, " or ".join(record.values[value].name for value in values))
    if case.entries and case.stands in base.levels:
        yield Named("Gearbox", _gearbox(assessment))


def _gearbox(assessment: Assessment) -> str:
    case, base = assessment.case, assessment.network.base
    stands = base.levels[case.stands]
    first_out = next(level.id for level in base.levels.values() if not level.drivable)
    if stands.id == first_out:
        return "out"
    if not stands.drivable:
        return f"out; it stands {stands.name}"
    if any(entry.stage == "inside" for entry in case.entries):
        return "in again, after it had been out"
    return "in, as far as was noted"


def kit_rows(assessment: Assessment) -> Iterator[Named]:
    """Name the figures of the kit's sheet as typed, and why one was left out."""
    wrong = clashes(assessment.case)
    for figure, typed in assessment.case.kit.items():
        left_out = f" (left out: {wrong[figure]})" if figure in wrong else ""
        yield Named(name_of(figure), f"{typed}{left_out}")


def about_rows(assessment: Assessment) -> Iterator[Named]:
    """Name where the case comes from."""
    case = assessment.case
    if shortened(case.title) != " ".join(case.title.split()):
        yield Named("Whole title", case.title)
    if case.origin:
        yield Named("Origin", case.origin)
    if case.knowledge and case.knowledge != assessment.network.base.version:
        yield Named("Begun with knowledge", case.knowledge)
    if case.found is not None and case.found.why:
        yield Named("Why it is taken for found", case.found.why)


def source_rows(assessment: Assessment, figures: Iterable[Figure]) -> Iterator[Named]:
    """Name the sources of the limits that readings were held against."""
    known = assessment.network.base.sources
    named = (s for figure in figures for v in figure.limits for s in v.limit.source)
    for source in sorted(dict.fromkeys(named)):
        if source in known:
            record = known[source]
            yield Named(source, ", ".join(part for part in (record.title, record.where) if part))
