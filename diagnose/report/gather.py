"""From an assessment, and its advice, to the report."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from importlib.metadata import PackageNotFoundError, version

from diagnose.assess import Assessment
from diagnose.planning.record import Advice
from diagnose.records.kept import KeptConflict
from diagnose.report.conclusion import conclusion
from diagnose.report.cutaway import cutaway_of
from diagnose.report.evidence import account, ruled_out
from diagnose.report.figures import figures
from diagnose.report.record import Edition, Hours, Photograph, Report, Told
from diagnose.report.remaining import closing_lines, open_lines, plan_parts
from diagnose.report.told import dates_of, told
from diagnose.report.vehicle import about_rows, kit_rows, shortened, source_rows, vehicle_rows

DEFERRAL = (
    "The maker’s figures, local rules and licensed practice come first. This report says what the "
    "answers and readings above make likely; it takes nobody’s place who looks at the vehicle."
)


def report_of(
    assessment: Assessment,
    advice: Advice | None = None,
    *,
    edition: Edition = "job",
    hours: bool | None = None,
    made: str = "",
    photographs: Sequence[Photograph] = (),
    conflicts: Sequence[KeptConflict] = (),
    program: str = "",
) -> Report:
    """Tell a case: nothing is in the report that the assessment and the advice do not hold.

    Parameters
    ----------
    assessment : Assessment
    advice : Advice, optional
        What to do next, while the case is open; of no matter once it is closed.
    edition : str
        ``job`` tells everything. ``customer``, for the customer or the kit's supplier, leaves
        notes, weights and the plan out.
    hours : bool, optional
        Whether hours are told; only for the job folder if left out.
    made : str
        The day the report is made, in words.
    photographs : sequence of Photograph
    conflicts : sequence of KeptConflict
        Answers of two people that nobody has settled.
    program : str
        Version of the program.

    Returns
    -------
    Report
    """
    case, base = assessment.case, assessment.network.base
    timed = edition == "job" if hours is None else hours
    advice = advice if case.found is None else None
    concerned = _concerned(assessment)
    read = figures(assessment)
    return Report(
        edition=edition,
        title=shortened(case.title) or "A clutch that came back",
        date=dates_of(case.entries),
        made=made,
        people=tuple(dict.fromkeys(entry.by for entry in case.entries if entry.by)),
        closed=case.found is not None,
        conclusion=tuple(conclusion(assessment, advice, timed=timed)),
        stops=tuple(base.cautions[name].text for name in assessment.stops()),
        cutaway=cutaway_of(assessment, concerned),
        words=case.words,
        complaints=_timed(told(assessment, ("complaint",), edition), timed=timed),
        findings=_timed(told(assessment, ("check",), edition), timed=timed),
        work=_timed(told(assessment, ("work", "repair"), edition), timed=timed),
        setup=tuple(vehicle_rows(assessment)),
        kit=tuple(kit_rows(assessment)),
        figures=read,
        accounts=tuple(account(assessment, name, edition) for name in concerned if case.entries),
        ruled_out=ruled_out(assessment, besides=concerned, edition=edition),
        hours=_hours(assessment) if timed else None,
        open=tuple(
            open_lines(assessment, advice, concerned, edition, timed=timed, conflicts=conflicts)
        ),
        plan=tuple(plan_parts(assessment, advice)) if advice and edition == "job" else (),
        closing=tuple(closing_lines(assessment, advice)),
        cautions=(DEFERRAL, *_cautions(assessment, advice)),
        photographs=tuple(photographs),
        about=tuple(about_rows(assessment)) if edition == "job" else (),
        sources=tuple(source_rows(assessment, read)) if edition == "job" else (),
        knowledge=base.version,
        program=program,
    )


def program_version() -> str:
    """Give the version of the program; empty where it runs without being installed."""
    try:
        return version("pull-once")
    except PackageNotFoundError:
        return ""


def _timed(entries: tuple[Told, ...], *, timed: bool) -> tuple[Told, ...]:
    return entries if timed else tuple(replace(entry, hours=None) for entry in entries)


def _concerned(assessment: Assessment) -> tuple[str, ...]:
    """What was found, as far as the set-up allows it; of an open case the likeliest cause."""
    allowed = {cause.id for cause in assessment.causes}
    found = assessment.case.found
    if found is not None:
        return tuple(name for name in found.causes if name in allowed)
    return tuple(cause.id for cause in assessment.causes[:1])


def _hours(assessment: Assessment) -> Hours:
    looking = work = 0.0
    for entry in assessment.case.entries:
        if entry.subject[0] in {"work", "repair"}:
            work += entry.hours or 0.0
        else:
            looking += entry.hours or 0.0
    return Hours(looking, work, assessment.case.moved)


def _cautions(assessment: Assessment, advice: Advice | None) -> tuple[str, ...]:
    """Cautions for the next step and for putting right what is concerned, the usual ones first."""
    base = assessment.network.base
    named: list[str] = []
    best = advice.options[0] if advice and advice.options else None
    if best is not None and best.kind == "check":
        named += base.checks[best.id].cautions
    causes = [*_concerned(assessment), *([best.id] if best and best.kind == "repair" else [])]
    for cause in causes:
        named += [caution.id for caution in base.repair_cautions(base.causes[cause])]
    uses = Counter(name for check in base.checks.values() for name in check.cautions)
    uses.update(name for level in base.levels.values() for name in level.cautions)
    usual = sorted(dict.fromkeys(named), key=lambda name: (-uses[name], name))
    return tuple(base.cautions[name].text for name in usual)
