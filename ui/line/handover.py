"""A note for whoever takes the case over: what is known, what is next, what is open."""

from collections.abc import Iterator, Sequence

from diagnose.advice_words import step_words, too_long_line
from diagnose.assess import Assessment
from diagnose.case import Case, spent
from diagnose.planning.record import Advice
from diagnose.records.kept import KeptConflict, State
from diagnose.sentences import chance_words, counts, hours, verdict
from knowledge.model import KnowledgeBase
from ui.closing import grade_name, names_of
from ui.line.follow_up import spoken
from ui.line.moments import sentence
from ui.questions import answered, asked, question_for

LONGEST = 2000  # letters that the case takes
_ANSWERS, _CAUSES = 6, 3


def handover(
    assessment: Assessment,
    advice: Advice,
    case: Case,
    *,
    state: State = State.OPEN,
    conflicts: Sequence[KeptConflict] = (),
    again: Sequence[str] = (),
) -> str:
    """Draft the note; it is there to be edited.

    Parameters
    ----------
    assessment : Assessment
    advice : Advice
    case : Case
        As it is now; its name and what was found may be newer than the assessment.
    state : State
        How far the case is.
    conflicts : sequence of KeptConflict
        Those that nobody has settled.
    again : sequence of str
        Answers to look at again, in sentences.

    Returns
    -------
    str
        At most `LONGEST` letters.
    """
    base = assessment.network.base
    parts = (
        ("Known", _known(assessment, case)),
        ("Likeliest", _likeliest(assessment, case)),
        ("Next", _next(assessment, advice, case)),
        ("Open", _open(base, case, state, conflicts, again)),
    )
    lines = ((name, " ".join(said)) for name, said in parts)
    text = "\n".join(f"{name}: {said}" for name, said in lines if said)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 2].rstrip()} …"


def _known(assessment: Assessment, case: Case) -> Iterator[str]:
    base = assessment.network.base
    yield from (f"STOP: {base.cautions[stop].text}" for stop in assessment.stops())
    told = [f"{asked(base, e)} ({answered(base, e)})" for e in case.entries if e.complaint]
    if told:
        yield f"{sentence('; '.join(told))}."
    rest = [e for e in case.entries if not e.complaint]
    said = [f"{asked(base, e)}: {answered(base, e)}" for e in rest[-_ANSWERS:]]
    if len(rest) > len(said):
        yield f"{len(rest) - len(said)} earlier answers; the last ones:"
    if said:
        yield f"{sentence('; '.join(said))}."
    if case.found is not None:
        names = " or ".join(names_of(base, case.found.causes))
        yield f"Found: {names}. {grade_name(case.found.sure)}."


def _likeliest(assessment: Assessment, case: Case) -> Iterator[str]:
    likely = [f"{c.name} ({chance_words(c.p)}, {counts(c.p)})" for c in assessment.causes[:_CAUSES]]
    if likely and case.found is None:
        yield f"{'; '.join(likely)}."


def _next(assessment: Assessment, advice: Advice, case: Case) -> Iterator[str]:
    if case.found is not None:
        yield "Nothing: it is found."
        return
    base = assessment.network.base
    if not advice.options:
        yield too_long_line(advice) or "Nothing is left that would bring the fix nearer."
        return
    first = advice.options[0]
    yield f"{sentence(step_words(first)).rstrip('.?')}."
    if first.kind in {"ask", "check"}:
        yield f"Say: “{spoken(question_for(base, first.kind, first.id))}”"
    head, why = verdict(assessment, advice)
    yield f"{head}. {why}"


def _open(
    base: KnowledgeBase,
    case: Case,
    state: State,
    conflicts: Sequence[KeptConflict],
    again: Sequence[str],
) -> Iterator[str]:
    yield f"The case is “{state}”; {hours(spent(case))} spent."
    if conflicts:
        many = "two answers differ" if len(conflicts) == 1 else f"{len(conflicts)} pairs differ"
        yield f"To be settled: {many}."
    left_out = [base.checks[name].name for name in case.skipped if name in base.checks]
    if left_out:
        yield f"Left out: {'; '.join(left_out)}."
    yield from again
