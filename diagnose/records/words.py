"""The words that a case is found by; the same on every engine."""

import re
import unicodedata

from diagnose.case import Case
from knowledge.model import KnowledgeBase

_LONGEST = 60
_WORD = re.compile(r"[^\W_]+")


def words_of(base: KnowledgeBase, case: Case) -> str:
    """Give the text that a case is found by.

    Title, the driver's words, the names of its complaints and of the causes that were found,
    notes, and who wrote them.
    """
    told = [e.complaint for e in case.entries if e.complaint]
    complaints = [base.complaints[c] for c in told if c in base.complaints]
    causes = [c for c in (case.found.causes if case.found else ()) if c in base.causes]
    names = (*(c.name for c in complaints), *(base.causes[c].name for c in causes))
    return " ".join((own_words(case), *names))


def own_words(case: Case) -> str:
    """Give the words of a case that need no knowledge base to be told."""
    found = (*case.found.causes, case.found.why) if case.found else ()
    told = (*(e.note for e in case.entries), *dict.fromkeys(e.by for e in case.entries))
    complaints = (e.complaint for e in case.entries if e.complaint)
    return " ".join((case.title, case.words, case.note, *told, *complaints, *found))


def tokens(text: str) -> tuple[str, ...]:
    """Give the words of a text in their order, each once: letters and digits, without accents.

    Capitals count as small letters; a word is cut after 60 signs.
    """
    split = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(sign for sign in split if not unicodedata.combining(sign))
    return tuple(dict.fromkeys(word[:_LONGEST] for word in _WORD.findall(bare.casefold())))
