"""A complaint's question, a check, a repair or a piece of work as something to ask; Qt-free.

The bench and the dialog that changes a finding both show a `Question`; what kind of record it came
from they need not know.
"""

import re
from dataclasses import dataclass

from diagnose.case import GRADES, STILL_THERE, Entry
from diagnose.gauge import answer_for_reading
from knowledge.model import Caution, Check, Complaint, KnowledgeBase, Work
from ui.gauge_entry import unit_written

CANT_TELL = "can't tell"
DONT_KNOW = "don't know"
PART_SEEN = "part seen"
COMPLAINT_GONE = "complaint gone"
DONE_SEEN = "done, seen"
DONE_UNSEEN = "done, not seen"


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
        ("complaint" | "check" | "work" | "repair", id), or ("drive" | "hand_over", "").
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


def question_for(base: KnowledgeBase, kind: str, name: str, *, batch: bool = False) -> Question:
    """Give the question for an option of the planner or the subject of an entry.

    Parameters
    ----------
    base : KnowledgeBase
    kind : str
        ``ask`` or ``complaint``, ``check``, ``work``, ``repair``, ``drive``, ``hand_over``, or
        ``finding`` for the check that shows one.
    name : str
        Its id; of no matter for a drive and for handing over.
    batch : bool
        For a repair: whether it can also be told as done and not driven yet, so that several can be
        done before one drive.

    Returns
    -------
    Question

    Raises
    ------
    KeyError
        If the base does not hold it, or no check shows the finding.
    """
    if kind in {"ask", "complaint"}:
        return _of_complaint(base.complaints[name])
    if kind in {"check", "finding"}:
        return _of_check(base, base.checks[name] if kind == "check" else _showing(base, name))
    if kind == "work":
        return _of_work(base.work[name])
    if kind == "drive":
        return _of_drive(base)
    if kind == "hand_over":
        return _of_handing_over(base)
    return _of_repair(base, name, batch=batch)


def _showing(base: KnowledgeBase, finding: str) -> Check:
    """The check that shows a finding: the one that asks for just that, else the shortest."""
    fitting = [check for check in base.checks.values() if finding in check.reads()]
    if not fitting:
        raise KeyError(finding)
    return min(fitting, key=lambda check: (check.finding != finding, check.minutes))


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


_DRIVEN = (
    Choice(PART_SEEN, "gone, and the fault was seen", "This is what was wrong."),
    Choice(COMPLAINT_GONE, "gone, the fault was not seen", "Found, but less surely."),
    Choice(STILL_THERE, "the complaint is still there", "What was done will count."),
)
_EXPLAINED = (
    Choice(PART_SEEN, "it is that, and it was shown", "Nothing to mend: it works as designed."),
    Choice(COMPLAINT_GONE, "the driver is content with that", "Found, but less surely."),
    Choice(STILL_THERE, "there is more to it", "That will count against it."),
)
_BATCH = (
    Choice(DONE_SEEN, "done, the fault was seen", "The drive proves it."),
    Choice(DONE_UNSEEN, "done, the fault was not seen", "The drive tells."),
    Choice(COMPLAINT_GONE, "tried and driven: complaint gone", "Found, but less surely."),
    Choice(STILL_THERE, "tried and driven: still there", "What was done will count."),
)


def _of_repair(base: KnowledgeBase, name: str, *, batch: bool) -> Question:
    cause = base.causes[name]
    last = (f"Before it closes: {cause.before_closing}",) if cause.before_closing else ()
    designed = cause.kind == "designed"
    told = _BATCH if batch else _DRIVEN
    return Question(
        subject=("repair", name),
        title=f"{'Explain it' if designed else 'Put it right'}: {cause.name}",
        voices=(
            Voice("do", "What to do", (*steps(cause.repair.do), *last)),
            Voice("say", "How to prove it", (cause.prove,)),
            Voice("why", "How it comes about", (cause.about,)),
        ),
        choices=_EXPLAINED if designed else told,
        cautions=base.repair_cautions(cause),
        level=cause.repair.from_,
        minutes=60.0 * cause.repair.hours,
    )


def _of_drive(base: KnowledgeBase) -> Question:
    return Question(
        subject=("drive", ""),
        title="Close it up and drive",
        voices=(
            Voice(
                "do",
                "At the vehicle",
                (
                    "Go through the closing list, point by point.",
                    "Close everything up.",
                    "Drive as the driver does when it happens, warm and cold.",
                ),
            ),
            Voice(
                "say",
                "On the phone",
                ("“Go through the closing list, close it up and drive it. Is it gone?”",),
            ),
            Voice("why", "Why", ("Only the road shows that the complaint is gone.",)),
        ),
        choices=(
            Choice(COMPLAINT_GONE, "the complaint is gone", "What was put right was it."),
            Choice(STILL_THERE, "the complaint is still there", "What was done will count."),
        ),
        level=next(iter(base.levels)),
        minutes=base.scale.drive_minutes,
    )


def _of_handing_over(base: KnowledgeBase) -> Question:
    return Question(
        subject=("hand_over", ""),
        title="Hand it over",
        voices=(
            Voice(
                "do",
                "What to do",
                (
                    "Close it up and pass it to somebody who can look further.",
                    "Give this case along: it says what was done, and what is still open.",
                ),
            ),
        ),
        choices=(),
        level=next(iter(base.levels)),
        minutes=60.0 * base.scale.hand_over,
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
    if kind == "repair":
        cause = base.causes[name]
        return f"{'explained' if cause.kind == 'designed' else 'put right'}: {cause.name}"
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
    if kind == "repair":
        text = _outcome(entry, designed=base.causes[name].kind == "designed")
    if entry.reading:
        text = f"{_read(base, entry)}: {text}"
    if kind == "work":
        text += ", at the job" if entry.when == "job" else ", since; the complaint stayed"
    return f"{text} (seen by the way)" if entry.by_the_way else text


def _outcome(entry: Entry, *, designed: bool) -> str:
    """Give how a repair came out, or what explaining what works as designed came to."""
    if designed:
        told = "it was shown" if entry.seen else "told to the driver"
        return told if entry.is_pending else f"{told}; there was more to it"
    seen = "the fault was seen" if entry.seen else "the fault was not seen"
    return f"done, {seen}" if entry.is_pending else f"done, {seen}; driven, the complaint stayed"


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
