"""What the caller should look at next, as a list to send him.

Only what he can be asked to look at or to measure; what needs the gearbox out comes last, under a
heading of its own. The order is that of the advice. Stop notices and cautions stand before what
they belong to, for whoever gets the list has nobody beside him to read them out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from diagnose.assess import Assessment
from diagnose.case import GRADES
from diagnose.planning.record import Advice, Option
from knowledge.model import KnowledgeBase
from ui.questions import Question, question_for

OUTSIDE, INSIDE = 5, 3  # more on one list is not read
_LOOKS = ("ask", "check")
_HEAD = (
    "What to look at next, in this order. Write down what you find and call back. Where nothing "
    "else is said, answer yes or no, or how sure you are."
)
_INSIDE = "Only if the gearbox comes out, or is out already:"
_NOTHING = "There is nothing to look at just now. Call back before anything is taken apart."


@dataclass(frozen=True)
class Item:
    """One thing to look at.

    Attributes
    ----------
    ask : str
        As one would say it on the phone.
    how : str
        What to answer with; of a question that takes yes or no, what these mean, if that is told.
    needs : str
        Where it is done, with whom and what.
    cautions : tuple of str
        To be read first; none twice in one list.
    inside : bool
        Whether the gearbox has to be out.
    """

    ask: str
    how: str
    needs: str
    cautions: tuple[str, ...]
    inside: bool


def items(
    base: KnowledgeBase,
    advice: Advice,
    *,
    outside: int = OUTSIDE,
    inside: int = INSIDE,
) -> tuple[Item, ...]:
    """Choose what the caller looks at: checks and questions as advised, those outside first.

    Parameters
    ----------
    base : KnowledgeBase
    advice : Advice
    outside, inside : int
        How many of each at most.

    Returns
    -------
    tuple of Item
    """
    looks = [option for option in advice.options if option.kind in _LOOKS]
    out = [o for o in looks if _is_outside(base, o)][:outside]
    within = [o for o in looks if not _is_outside(base, o)][:inside]
    told: set[str] = set()
    return tuple(_item(base, option, told) for option in (*out, *within))


def follow_up(assessment: Assessment, advice: Advice, title: str = "") -> str:
    """Write the list for the caller.

    Parameters
    ----------
    assessment : Assessment
        Of the case as it is; its stop notices head the list.
    advice : Advice
    title : str
        Whose list it is.

    Returns
    -------
    str
        Plain text, a line for each paragraph.
    """
    base = assessment.network.base
    found = items(base, advice)
    lines = [title, ""] if title else []
    for stop in assessment.stops():
        lines += [f"STOP: {base.cautions[stop].text}", ""]
    lines += [_HEAD if found else _NOTHING, ""]
    headed = False
    for number, item in enumerate(found, start=1):
        if item.inside and not headed:
            lines += [_INSIDE, ""]
            headed = True
        lines += [*_lines(number, item), ""]
    return "\n".join(lines).strip() + "\n"


def _is_outside(base: KnowledgeBase, option: Option) -> bool:
    return option.kind == "ask" or base.levels[option.level].drivable


def _item(base: KnowledgeBase, option: Option, told: set[str]) -> Item:
    question = question_for(base, option.kind, option.id)
    cautions = [c for c in question.cautions if c.id not in told]
    told.update(c.id for c in cautions)
    return Item(
        ask=spoken(question),
        how=_how(question),
        needs=_needs(base, question),
        cautions=tuple(f"{_word(c.level)}: {c.text}" for c in cautions),
        inside=not _is_outside(base, option),
    )


def spoken(question: Question) -> str:
    """Give a question as one says it on the phone, without its quotation marks."""
    voice = next((v for v in question.voices if v.id == "say"), None)
    return question.title if voice is None else " ".join(voice.steps).strip("“”")


def _word(level: str) -> str:
    return "STOP" if level == "stop" else "Caution"


def _how(question: Question) -> str:
    """Say what to answer with, where that is not plainly yes or no."""
    if question.gauge is not None:
        unit = f" with its unit ({question.gauge})" if question.gauge else ""
        how = f" {question.how}" if question.how else ""
        return f"Tell the figure{unit}.{how}"
    ids = tuple(choice.id for choice in question.choices)
    if ids == GRADES:
        return " ".join(f"{word}: {said}" for word, said in _meanings(question))
    return f"Answer one of these: {'; '.join(c.text for c in question.choices)}."


def _meanings(question: Question) -> Iterator[tuple[str, str]]:
    """What yes and no mean, as far as the check says; only the first sentence of each."""
    for word, text in (("Yes", question.yes), ("No", question.no)):
        first, _, _ = text.partition(". ")
        if first:
            yield word, first if first.endswith(".") else f"{first}."


def _needs(base: KnowledgeBase, question: Question) -> str:
    where = base.levels[question.level].name if question.level else ""
    minutes = f"about {question.minutes:.0f} min" if question.minutes else ""
    return ", ".join(part for part in (where, minutes, *question.needs) if part)


def _lines(number: int, item: Item) -> Sequence[str]:
    needs = f" ({item.needs})" if item.needs else ""
    how = (item.how,) if item.how else ()
    return (*item.cautions, f"{number}. {item.ask}{needs}", *how)
