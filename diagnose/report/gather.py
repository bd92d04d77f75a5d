"""From an assessment, and its advice, to the report."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from importlib.metadata import PackageNotFoundError, version

from diagnose.advice_words import (
    glance_line,
    money_line,
    next_line,
    outcome_line,
    pull_lines,
    runner_up_line,
    step_words,
    why_lines,
)
from diagnose.assess import Assessment
from diagnose.case import spent
from diagnose.explain import conflict
from diagnose.kit_sheet import name_of
from diagnose.planning.closing import closing_list
from diagnose.planning.record import Advice
from diagnose.report.conclusion import conclusion
from diagnose.report.evidence import account, ruled_out
from diagnose.report.figures import figures
from diagnose.report.record import (
    Edition,
    Hours,
    Named,
    Part,
    Photograph,
    Report,
    Told,
)
from diagnose.report.told import dates_of, first_large, told
from diagnose.sentences import left_out_line, look_again
from diagnose.system import clashes

DEFERRAL = (
    "The maker’s figures, local rules and licensed practice come first. This report says what the "
    "answers and readings above make likely; it takes nobody’s place who looks at the vehicle."
)
_RUNNERS_UP = 4
_LONGEST_TITLE = 140  # letters: two or three lines on paper


def report_of(
    assessment: Assessment,
    advice: Advice | None = None,
    *,
    edition: Edition = "job",
    hours: bool | None = None,
    made: str = "",
    photographs: Sequence[Photograph] = (),
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
    return Report(
        edition=edition,
        title=_shortened(case.title) or "A clutch that came back",
        date=dates_of(case.entries),
        made=made,
        people=tuple(dict.fromkeys(entry.by for entry in case.entries if entry.by)),
        closed=case.found is not None,
        conclusion=tuple(conclusion(assessment, advice, timed=timed)),
        stops=tuple(base.cautions[name].text for name in assessment.stops()),
        words=case.words,
        complaints=_timed(told(assessment, ("complaint",), edition), timed=timed),
        findings=_timed(told(assessment, ("check",), edition), timed=timed),
        work=_timed(told(assessment, ("work", "repair"), edition), timed=timed),
        setup=tuple(_setup(assessment)),
        kit=tuple(_kit(assessment)),
        figures=figures(assessment),
        accounts=tuple(account(assessment, name, edition) for name in concerned),
        ruled_out=ruled_out(assessment, besides=concerned, edition=edition),
        hours=_hours(assessment) if timed else None,
        open=tuple(_open(assessment, advice, edition, timed=timed)),
        plan=tuple(_plan(assessment, advice)) if advice and edition == "job" else (),
        closing=tuple(_closing(assessment, advice)),
        cautions=(DEFERRAL, *_cautions(assessment, advice)),
        photographs=tuple(photographs),
        about=tuple(_about(assessment)) if edition == "job" else (),
        knowledge=base.version,
        program=program,
    )


def program_version() -> str:
    """Give the version of the program; empty where it runs without being installed."""
    try:
        return version("pull-once")
    except PackageNotFoundError:
        return ""


def _shortened(title: str) -> str:
    words = " ".join(title.split())
    return words if len(words) <= _LONGEST_TITLE else f"{words[: _LONGEST_TITLE - 1]}…"


def _timed(entries: tuple[Told, ...], *, timed: bool) -> tuple[Told, ...]:
    return entries if timed else tuple(replace(entry, hours=None) for entry in entries)


def _concerned(assessment: Assessment) -> tuple[str, ...]:
    """What was found, as far as the set-up allows it; of an open case the likeliest cause."""
    allowed = {cause.id for cause in assessment.causes}
    found = assessment.case.found
    if found is not None:
        return tuple(name for name in found.causes if name in allowed)
    return tuple(cause.id for cause in assessment.causes[:1])


def _setup(assessment: Assessment) -> Iterator[Named]:
    case, base = assessment.case, assessment.network.base
    if case.setup is not None:
        yield Named("Set-up", base.setups[case.setup].name)
    for fact, values in case.facts.items():
        record = base.facts[fact]
        yield Named(record.name, " or ".join(record.values[value].name for value in values))


def _kit(assessment: Assessment) -> Iterator[Named]:
    wrong = clashes(assessment.case)
    for figure, typed in assessment.case.kit.items():
        left_out = f" (left out: {wrong[figure]})" if figure in wrong else ""
        yield Named(name_of(figure), f"{typed}{left_out}")


def _hours(assessment: Assessment) -> Hours:
    looking = work = 0.0
    for entry in assessment.case.entries:
        if entry.subject[0] in {"work", "repair"}:
            work += entry.hours or 0.0
        else:
            looking += entry.hours or 0.0
    return Hours(looking, work, spent(assessment.case) - looking - work)


def _open(
    assessment: Assessment, advice: Advice | None, edition: Edition, *, timed: bool
) -> Iterator[str]:
    case, base = assessment.case, assessment.network.base
    if advice is not None and advice.options:
        best = advice.options[0]
        level = base.levels[best.level].name
        plain = f"Next: {step_words(best.step)} ({level})"
        yield f"{next_line(assessment, best) if timed else plain}."
    pending = [e.repair for e in case.entries if e.is_pending and e.repair is not None]
    if pending:
        names = "; ".join(base.causes[name].name for name in dict.fromkeys(pending))
        yield f"Put right and not driven yet: {names}."
    if case.skipped:
        yield f"Could not be done: {'; '.join(base.checks[name].name for name in case.skipped)}."
    if case.found is None and case.stands in base.levels:
        yield f"Worked on so far: {base.levels[case.stands].name}."
    yield from look_again(assessment)
    against = conflict(assessment)
    if against > 0.0:
        yield (
            "The answers go badly together: one may be wrong, or several causes are present "
            f"(conflict {against:.1f} bit)."
            if edition == "job"
            else "The answers go badly together: one may be wrong, or there are several causes."
        )
    if left_out_line(assessment):
        yield left_out_line(assessment)
    for name in _concerned(assessment):
        for other, why in base.causes[name].alike.items():
            yield f"Nothing tells it from: {base.causes[other].name}. {first_large(why)}"


def _plan(assessment: Assessment, advice: Advice) -> Iterator[Part]:
    """What the advice rests on, in parts."""
    if not advice.options:
        yield Part("Why", tuple(why_lines(assessment, advice)))
        return
    best, *others = advice.options
    money = money_line(assessment.case, advice)
    yield Part("Why this step", (*why_lines(assessment, advice), *((money,) if money else ())))
    outcomes = tuple(first_large(outcome_line(outcome)) for outcome in best.outcomes)
    runners = tuple(first_large(runner_up_line(advice, option)) for option in others[:_RUNNERS_UP])
    glances = tuple(glance_line(glance) for glance in advice.glances)
    pulls = pull_lines(assessment, advice)
    for part in (
        Part("What it would lead to", outcomes),
        Part("Or", runners),
        Part("Pull the gearbox?", tuple(line.removeprefix("- ") for line in pulls)),
        Part("While it is open, in this order", glances),
    ):
        if part.lines:
            yield part


def _closing(assessment: Assessment, advice: Advice | None) -> Iterator[str]:
    """The closing list: of the advice, else for what was mended and found; then the next time."""
    case, base = assessment.case, assessment.network.base
    if advice is not None:
        yield from (line.text for line in advice.closing)
        return
    lines = closing_list(assessment)
    if case.found is None:
        yield from (line.text for line in lines)
        return
    mended = {entry.repair for entry in case.entries}
    found = case.found.causes
    own = tuple(line.text for line in lines if line.cause in mended or line.cause in found)
    proper = tuple(base.causes[name].before_closing for name in found)
    yield from dict.fromkeys(text for text in (*own, *proper) if text)
    for name in found:
        if base.causes[name].next_time:
            yield f"The next time: {base.causes[name].next_time}"


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


def _about(assessment: Assessment) -> Iterator[Named]:
    case = assessment.case
    if _shortened(case.title) != " ".join(case.title.split()):
        yield Named("Whole title", case.title)
    if case.origin:
        yield Named("Origin", case.origin)
    if case.knowledge and case.knowledge != assessment.network.base.version:
        yield Named("Begun with knowledge", case.knowledge)
    if case.found is not None and case.found.why:
        yield Named("Why it is taken for found", case.found.why)
