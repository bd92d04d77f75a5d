"""What the card says where it asks nothing: what was found, or that nothing is left."""

from PySide6.QtWidgets import QWidget

from diagnose.access import access_for
from diagnose.advice_aloud import sure_words
from diagnose.advice_words import cost_words, too_long_line
from diagnose.assess import Assessment
from diagnose.case import Case, Found
from diagnose.planning.record import Advice, Option
from diagnose.sentences import advice_reason, hours
from knowledge.model import KnowledgeBase
from ui.questions import Question
from ui.views.parts import sentence
from ui.widgets.notice import Notice
from ui.widgets.text import Words, heading

_MINUTE = 1.0 / 60.0  # hours
_PROVED = {"part seen", "complaint gone"}  # what a green tick may stand beside


def found_words(base: KnowledgeBase, found: Found, stands: str) -> list[QWidget]:
    """Say what was found, and what to see to for it from where the vehicle stands."""
    causes = [base.causes[c] for c in found.causes]
    names = " or ".join(cause.name for cause in causes)
    why = sentence(f"{sure_words(base, found)}. {found.why}".strip())
    words: list[QWidget] = [
        heading("Found"),
        Words(sentence(names), role="title", weight="bold"),
        Notice("good", why) if found.sure in _PROVED else Words(why),
    ]
    closed_up = base.levels[stands].drivable
    for cause in causes:
        for name, text in (
            ("Before it closes", "" if closed_up else cause.before_closing),
            ("Next time", cause.next_time),
        ):
            if text:
                words += [heading(name), Words(text, role="lead")]
    return [*words, Words("If it comes back, take this back with Ctrl+Z.", tone="muted")]


def nothing_words(assessment: Assessment, advice: Advice) -> list[QWidget]:
    """Say why there is no next step, and what can be done about it."""
    words: list[QWidget] = [heading("Next")]
    if advice.too_long:
        title = "Nothing fits into what is left today"
        words += [
            Words(title, role="title", weight="bold"),
            Words(too_long_line(advice)),
            Words("Ask the customer for more time, and change the limit in the intake (Ctrl+I)."),
        ]
    else:
        words += [
            Words("Nothing is left to check", role="title", weight="bold"),
            Words(advice_reason(assessment, advice)),
        ]
    if assessment.case.skipped:
        words.append(Words("Some checks were left out. Go back with Ctrl+Z to do them."))
    return words


def where_words(base: KnowledgeBase, question: Question, option: Option | None) -> str:
    """Say where a step is done, how long it takes, and with what."""
    if not question.level:
        return "ask the driver"
    name, own = base.levels[question.level].name, hours(question.minutes / 60.0)
    if question.subject[0] in {"drive", "hand_over"}:
        return own if option is None else cost_words(name, option)
    way = option.way if option is not None else 0.0
    time = f"{own} and {hours(way)} to get there" if way >= _MINUTE else own
    return ", ".join((name, time, *question.needs))


def costs_words(base: KnowledgeBase, case: Case, question: Question) -> str:
    """Say what answering costs where it is done for this, the way counted."""
    if not question.level:
        return f"{hours(base.scale.ask_minutes / 60.0)} are counted"
    access = access_for(base, case)
    way, _ = access.move(access.index(case.stands), access.index(question.level))
    own = question.minutes / 60.0
    with_way = ", the way included," if way >= _MINUTE else ""
    return f"{hours(own + way)}{with_way} are counted"
