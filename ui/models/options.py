"""What else could be done from here, as rows."""

from diagnose.planner import Advice, Option
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.models.rows import RowsModel
from ui.widgets.rows import Ranked

_SHOWN = 8
_KINDS = {"ask": "Ask: ", "check": "", "repair": "Put right: "}
_SAME = 1.0 / 60.0  # hours


class OptionModel(RowsModel):
    """The runners-up, best first; the key of a row is (kind, id)."""

    def show(self, base: KnowledgeBase, advice: Advice, shown: Option | None) -> None:
        """Show what is advised, leaving out the step that is on the card."""
        rows = [
            ((option.kind, option.id), _row(base, advice, option))
            for option in advice.options[: _SHOWN + 1]
            if option is not shown
        ]
        self.set_rows(rows[:_SHOWN])


def _row(base: KnowledgeBase, advice: Advice, option: Option) -> Ranked:
    name = _KINDS[option.kind] + option.name
    where = f"{base.levels[option.level].name}, {hours(option.hours)}"
    more = option.expected - advice.expected
    if option is advice.options[0]:
        cost = "the advised step"
    elif more < _SAME:
        cost = "as good"
    else:
        cost = f"{hours(more)} longer to the fix on average"
    return Ranked(name[:1].upper() + name[1:], f"{where}; {cost}")
