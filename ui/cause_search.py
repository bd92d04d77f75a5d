"""Finding causes by their names, what is told of them, and their zones; Qt-free."""

from collections.abc import Collection, Iterable

from knowledge.model import KnowledgeBase
from ui.map_words import capital
from ui.search import Index
from ui.widgets.rows import Ranked

_MOST = 40  # rows that are listed


class CauseSearch:
    """A search over some causes.

    Parameters
    ----------
    base : KnowledgeBase
    causes : iterable of str
        Ids.
    """

    def __init__(self, base: KnowledgeBase, causes: Iterable[str] = ()) -> None:
        self._base = base
        told = {name: base.causes[name] for name in causes}
        self._index = Index(
            {name: (c.name, c.about, base.zones[c.zone].name) for name, c in told.items()}
        )

    def find(self, typed: str, leave_out: Collection[str] = ()) -> list[tuple[str, Ranked]]:
        """List what a text speaks of, best first."""
        found = self._index.find(typed) or self._index.suggest(typed)
        return [(name, self.row(name)) for name in found[:_MOST] if name not in leave_out]

    def row(self, name: str) -> Ranked:
        """Give a cause as a row: its name over its zone."""
        cause = self._base.causes[name]
        return Ranked(capital(cause.name), self._base.zones[cause.zone].name)
