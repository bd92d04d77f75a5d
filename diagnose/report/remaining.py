"""What remains: what is open, what the advice rests on, and what to see to at the end."""

from collections.abc import Iterator, Sequence

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
from diagnose.explain import conflict
from diagnose.planning.closing import closing_list
from diagnose.planning.record import Advice
from diagnose.records.kept import KeptConflict
from diagnose.report.record import Edition, Part
from diagnose.report.told import answered, asked, first_large
from diagnose.sentences import left_out_line, look_again
from knowledge.model import KnowledgeBase

_RUNNERS_UP = 4
_SILENT_ENDS = frozenset({"complaint gone", "customer silent"})  # the drive is told with them


def open_lines(
    assessment: Assessment,
    advice: Advice | None,
    concerned: Sequence[str],
    edition: Edition,
    *,
    timed: bool,
    conflicts: Sequence[KeptConflict] = (),
) -> Iterator[str]:
    """Say what is not settled: the next step first, then doubts and contradictions.

    Parameters
    ----------
    assessment : Assessment
    advice : Advice or None
    concerned : sequence of str
        Ids of the causes that the report is about.
    edition : str
    timed : bool
        Whether hours may be told.
    conflicts : sequence of KeptConflict
        Those that nobody has settled.
    """
    case, base = assessment.case, assessment.network.base
    if advice is not None and advice.options:
        best = advice.options[0]
        level = base.levels[best.level].name
        plain = f"Next: {step_words(best.step)} ({level})"
        yield f"{next_line(assessment, best) if timed else plain}."
    yield from _not_driven(assessment)
    if case.skipped:
        yield f"Could not be done: {'; '.join(base.checks[name].name for name in case.skipped)}."
    yield from look_again(assessment)
    yield from (_conflict_line(base, conflict) for conflict in conflicts)
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
    for name in concerned:
        for other, why in base.causes[name].alike.items():
            yield f"Nothing tells it from: {base.causes[other].name}. {first_large(why)}"


def _conflict_line(base: KnowledgeBase, kept: KeptConflict) -> str:
    """Say what two people told differently, and which of both counts."""
    first, other = kept.conflict.entries
    entry = first or other
    if entry is None:
        return "Two people told the set-up or the case differently; that is not settled."
    said = [answered(base, e) if e else "nothing" for e in (first, other)]
    told = f" by {first.by}" if first is not None and first.by else ""
    by = f" by {kept.by}" if kept.by else ""
    return (
        f"Not settled: {asked(base, entry)}. What counts{told}: “{first_large(said[0])}”; "
        f"told otherwise{by}: “{first_large(said[1])}”."
    )


def _not_driven(assessment: Assessment) -> Iterator[str]:
    """Name the repairs that no drive was told of since."""
    case, base = assessment.case, assessment.network.base
    if case.found is not None and case.found.sure in _SILENT_ENDS:
        return
    pending = [str(e.repair) for e in case.entries if e.is_pending]
    if pending:
        names = "; ".join(base.causes[name].name for name in dict.fromkeys(pending))
        since = "not driven yet" if case.found is None else "no drive was noted since"
        yield f"Put right, and {since}: {names}."


def plan_parts(assessment: Assessment, advice: Advice) -> Iterator[Part]:
    """Say what the advice rests on, in parts."""
    if not advice.options:
        yield Part("Why", tuple(why_lines(assessment, advice)))
        return
    best, *others = advice.options
    money = money_line(assessment.case, advice)
    yield Part("Why this step", (*why_lines(assessment, advice), *((money,) if money else ())))
    outcomes = tuple(first_large(outcome_line(outcome)) for outcome in best.outcomes)
    runners = tuple(first_large(runner_up_line(advice, option)) for option in others[:_RUNNERS_UP])
    glances = tuple(glance_line(glance) for glance in advice.glances)
    for part in (
        Part("What it would lead to", outcomes),
        Part("Or", runners),
        Part("Pull the gearbox?", tuple(_told_in_one(pull_lines(assessment, advice)))),
        Part("While it is open, in this order", glances),
    ):
        if part.lines:
            yield part


def _told_in_one(lines: Sequence[str]) -> Iterator[str]:
    """Make one sentence of a line and of the items listed below it."""
    items = [line.removeprefix("- ") for line in lines if line.startswith("- ")]
    plain = [line for line in lines if not line.startswith("- ")]
    if not items:
        yield from plain
        return
    *before, head = plain
    yield from before
    yield f"{head} {'; '.join(items)}."


def closing_lines(assessment: Assessment, advice: Advice | None) -> Iterator[str]:
    """Say what to see to: by the advice, else for what was mended and found; then the next time."""
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
