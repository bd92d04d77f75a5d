"""What else could be done from here, as rows."""

from diagnose.advice_words import cost_words, runner_up_words, step_title
from diagnose.planning.record import Advice, Option
from knowledge.model import KnowledgeBase
from ui.models.rows import RowsModel
from ui.widgets.rows import Ranked

_SHOWN = 8


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
    took = cost_words(base.levels[option.level].name, option)
    return Ranked(step_title(option), f"{took}; {runner_up_words(advice, option)}")
