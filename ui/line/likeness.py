"""Closed cases like the one on the screen, in words."""

from dataclasses import dataclass

from diagnose.records.alike import Alike, Likeness
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.closing import grade_name, names_of
from ui.line.moments import sentence


@dataclass(frozen=True)
class Row:
    """A closed case: what was found, how surely, and how far it is alike."""

    id: str
    title: str
    lines: tuple[str, ...]


def row(base: KnowledgeBase, alike: Alike) -> Row:
    """Say what was found in a closed case, and why it is shown here."""
    names = " or ".join(names_of(base, alike.causes))
    sure = f"{grade_name(alike.sure)}, {hours(alike.hours)} in all"
    return Row(alike.id, sentence(names), (sure, likeness_words(alike.likeness), alike.title))


def likeness_words(likeness: Likeness) -> str:
    """Say what is counted: complaints, answers, and whether the set-up is known of both."""
    one = likeness.complaints == 1
    told = "the same complaint" if one else f"{likeness.shared} of {likeness.complaints} complaints"
    if likeness.both:
        answers = "answer" if likeness.both == 1 else "answers"
        said = f"{likeness.alike} of {likeness.both} {answers} alike"
    else:
        said = "no check in common"
    setup = "the same kind of set-up" if likeness.setup_known else "set-up not known of both"
    return sentence(", ".join((told, said, setup)))
