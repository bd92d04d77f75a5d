"""A complaint's question, a check, a repair or a piece of work as something to ask; Qt-free.

The bench and the dialog that changes a finding both show a `Question`; what kind of record it came
from they need not know.
"""

import re
from dataclasses import dataclass

from diagnose.case import GRADES, Entry
from diagnose.gauge import answer_for_reading
from knowledge.model import Caution, Check, Complaint, KnowledgeBase, Work
from ui.gauge_entry import unit_written

CANT_TELL = "can't tell"
DONT_KNOW = "don't know"
PART_SEEN = "part seen"
COMPLAINT_GONE = "complaint gone"
STILL_THERE = "still there"


@dataclass(frozen=True)
class Choice:
    """One answer: the id that goes into the case, its text, and what it means."""

    id: str
    text: str
    means: str = ""


@dataclass(frozen=True)
class Voice:
    """One way of putting it: its id, the name of the way, and the text in steps."""

    id: str
    name: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Question:
    """What is shown of one next step.

    Attributes
    ----------
    subject : tuple of str
        ("complaint" | "check" | "work" | "repair", id).
    title : str
        The question itself, or the name of what to do.
    voices : tuple of Voice
        Empty where the title says it all.
    choices : tuple of Choice
    yes, no : str
        What these two answers mean, for questions with five grades.
    gauge : str or None
        The unit of the reading, where one is taken.
    how, drawing : str
        How the reading is taken, and the id of a drawing of it.
    cautions : tuple of Caution
        To be read before the answers can be given.
    level : str
        Level it is done from.
    minutes : float
    needs : tuple of str
        Helper and tools.
    """

    subject: tuple[str, str]
    title: str
    voices: tuple[Voice, ...]
    choices: tuple[Choice, ...]
    yes: str = ""
    no: str = ""
    gauge: str | None = None
    how: str = ""
    drawing: str = ""
    cautions: tuple[Caution, ...] = ()
    level: str = ""
    minutes: float = 0.0
    needs: tuple[str, ...] = ()


def question_for(base: KnowledgeBase, kind: str, name: str) -> Question:
    """Give the question for an option of the planner or the subject of an entry.

    Parameters
    ----------
    base : KnowledgeBase
    kind : str
        ``ask`` or ``complaint``, ``check``, ``work``, ``repair``.
    name : str
        Its id.

    Returns
    -------
    Question

    Raises
    ------
    KeyError
        If the base does not hold it.
    """
    if kind in {"ask", "complaint"}:
        return _of_complaint(base.complaints[name])
    if kind == "check":
        return _of_check(base, base.checks[name])
    if kind == "work":
        return _of_work(base.work[name])
    return _of_repair(base, name)


def _of_complaint(complaint: Complaint) -> Question:
    return Question(("complaint", complaint.id), complaint.ask, (), _GRADE_CHOICES)


_GRADE_CHOICES = tuple(Choice(grade, grade) for grade in GRADES)


def _of_check(base: KnowledgeBase, check: Check) -> Question:
    graded = check.finding is not None
    measured = base.measurements[check.gauge] if check.gauge else None
    named = tuple(Choice(a.id, a.text, a.means) for a in check.answers)
    helper = ("a helper",) if check.helper else ()
    return Question(
        subject=("check", check.id),
        title=check.name,
        voices=(
            Voice("do", "At the vehicle", steps(check.do)),
            Voice("say", "On the phone", (f"“{check.say}”",)),
            Voice("why", "Why", (check.why,)),
        ),
        choices=_GRADE_CHOICES if graded else (*named, Choice(CANT_TELL, CANT_TELL)),
        yes=check.yes,
        no=check.no,
        gauge=measured.unit if measured else None,
        how=measured.how if measured else "",
        drawing=(measured.drawing or "") if measured else "",
        cautions=tuple(base.cautions[c] for c in check.cautions),
        level=check.from_,
        minutes=check.minutes,
        needs=(*helper, *check.tools),
    )


def _of_work(work: Work) -> Question:
    named = tuple(Choice(a.id, a.text) for a in work.answers)
    return Question(("work", work.id), work.ask, (), (*named, Choice(DONT_KNOW, DONT_KNOW)))


def _of_repair(base: KnowledgeBase, name: str) -> Question:
    cause = base.causes[name]
    last = (f"Before it closes: {cause.before_closing}",) if cause.before_closing else ()
    return Question(
        subject=("repair", name),
        title=f"Put it right: {cause.name}",
        voices=(
            Voice("do", "What to do", (*steps(cause.repair.do), *last)),
            Voice("say", "How to prove it", (cause.prove,)),
            Voice("why", "How it comes about", (cause.about,)),
        ),
        choices=(
            Choice(PART_SEEN, "gone, and the fault was seen", "This is what was wrong."),
            Choice(COMPLAINT_GONE, "gone, the fault was not seen", "Found, but less surely."),
            Choice(STILL_THERE, "the complaint is still there", "What was done will count."),
        ),
        cautions=base.repair_cautions(cause),
        level=cause.repair.from_,
        minutes=60.0 * cause.repair.hours,
    )


def steps(text: str) -> tuple[str, ...]:
    """Give a text sentence by sentence."""
    return tuple(re.split(r"(?<=[.?!])\s+(?=[A-Z])", text.strip()))


def band_of(base: KnowledgeBase, check: str, reading: str) -> Choice:
    """Find the answer a gauge reading falls on.

    Raises
    ------
    PullOnceError
        If the text is no such quantity, or not plausible.
    """
    answer = answer_for_reading(base, base.checks[check], reading)
    return Choice(answer.id, answer.text, answer.means)


def asked(base: KnowledgeBase, entry: Entry) -> str:
    """Give in a few words what an entry is about."""
    kind, name = entry.subject
    if kind == "complaint":
        return base.complaints[name].name
    return base.checks[name].name if kind == "check" else base.work[name].name


def answered(base: KnowledgeBase, entry: Entry) -> str:
    """Give an entry's answer as one would say it."""
    kind, name = entry.subject
    records: tuple[tuple[str, str], ...] = ()
    if kind == "check":
        records = tuple((a.id, a.text) for a in base.checks[name].answers)
    elif kind == "work":
        records = tuple((a.id, a.text) for a in base.work[name].answers)
    text = dict(records).get(entry.answer, entry.answer)
    if entry.reading:
        text = f"{_read(base, entry)}: {text}"
    if kind == "work":
        text += ", at the job" if entry.when == "job" else ", since; the complaint stayed"
    return text


def _read(base: KnowledgeBase, entry: Entry) -> str:
    """Give a reading with its unit, and what it was read with unless that is usually taken."""
    gauge = base.checks[str(entry.check)].gauge
    if gauge is None:
        return entry.reading
    measurement = base.measurements[gauge]
    last = entry.reading.rpartition(";")[2]
    bare = last[-1:].isdigit() and not unit_written(last)
    reading = f"{entry.reading} {measurement.unit}".strip() if bare else entry.reading
    unusual = list(measurement.instruments)[1:]
    if entry.instrument not in unusual:
        return reading
    return f"{reading}, {measurement.instruments[entry.instrument].name}"


def meaning(base: KnowledgeBase, entry: Entry) -> str:
    """Give what the answer means by itself; empty where the record does not say."""
    kind, name = entry.subject
    if kind != "check":
        return ""
    check = base.checks[name]
    if check.finding is not None:
        return {"yes": check.yes, "no": check.no}.get(entry.answer, "")
    return next((a.means for a in check.answers if a.id == entry.answer), "")
