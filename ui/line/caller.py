"""A new case from one line of text: "name, vehicle, what he says"."""

from dataclasses import dataclass

from diagnose.case import Case
from knowledge.model import KnowledgeBase
from ui import moves
from ui.search import Index

_LONGEST = 200  # letters of a title, as the list shows it
SHOWN = 6


@dataclass(frozen=True)
class Caller:
    """What was typed, taken apart.

    Attributes
    ----------
    title : str
        Name and vehicle.
    complaints : tuple of str
        What he says, a part for each complaint; the last one is still being typed.
    """

    title: str
    complaints: tuple[str, ...]


def caller(line: str) -> Caller:
    """Take a line apart at its commas: name, vehicle, and then one complaint after the other.

    Of two parts the second is the complaint; a line without a comma is all complaint.
    """
    parts = [" ".join(part.split()) for part in line.split(",")]
    heads = min(2, len(parts) - 1)
    title = ", ".join(part for part in parts[:heads] if part)
    return Caller(title[:_LONGEST], tuple(parts[heads:]))


class Complaints:
    """Finds the complaint that some words speak of.

    Parameters
    ----------
    base : KnowledgeBase
    """

    def __init__(self, base: KnowledgeBase) -> None:
        complaints = base.complaints
        self._index = Index({k: (c.name, c.ask, *c.words) for k, c in complaints.items()})

    def found(self, words: str) -> tuple[str, ...]:
        """Give the ids of the complaints, the closest first; none for words that fit none."""
        if not words.strip():
            return ()
        begun = self._index.find(words)
        said = self._index.suggest(words)
        return tuple(dict.fromkeys((*begun, *said)))[:SHOWN]

    def noted(self, line: Caller, last: str) -> tuple[str, ...]:
        """Give the complaints to note, each once: the closest of each part, and the chosen last.

        Parameters
        ----------
        line : Caller
        last : str
            Id of the complaint for the part that was typed last; empty for none.
        """
        first = [found[0] for part in line.complaints[:-1] if (found := self.found(part))]
        return tuple(dict.fromkeys(name for name in (*first, last) if name))


def new_case(base: KnowledgeBase, line: Caller, complaints: tuple[str, ...], at: str) -> Case:
    """Give the case a line makes.

    Parameters
    ----------
    base : KnowledgeBase
    line : Caller
    complaints : tuple of str
        Ids of those to note.
    at : str
        When he called.
    """
    words = ", ".join(part for part in line.complaints if part)
    case = Case(title=line.title, words=words[:2000], knowledge=base.version)
    for name in complaints:
        case = moves.with_asked(base, case, name, "yes", at)
    return case
