"""The plots of the shop's numbers: pulls, what came back and why, cases and hours by month."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from ui import theme
from ui.models.rows import RowsModel
from ui.shop_numbers import Bar, Numbers
from ui.shop_words import HOW_COUNTED, month_names, pull_lines
from ui.views.parts import clear, sentence
from ui.widgets.columns import Column, Columns
from ui.widgets.rows import Ranked, RowView
from ui.widgets.text import Words, heading

_LISTED = 7
_WIDE_LINES = 46  # narrower than so many lines of text, all stands below each other


class ShopCharts(QWidget):
    """All plots, beside each other where there is room."""

    def __init__(self) -> None:
        super().__init__()
        self.complaints, self.causes = RowView("What came back"), RowView("What was found")
        self._models = RowsModel(self), RowsModel(self)
        for view, model in zip((self.complaints, self.causes), self._models, strict=True):
            view.setModel(model)
        self.cases = Columns("Cases closed in each month", whole=True)
        self.hours = Columns("Hours spent in each month")
        self.pulls = QVBoxLayout()
        self.pulls.setSpacing(theme.STEP)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(4 * theme.STEP)
        self._grid.setVerticalSpacing(2 * theme.STEP)
        pulls = QWidget()
        pulls.setLayout(self.pulls)
        self.pulls.setContentsMargins(0, 0, 0, 0)
        self._panels = [
            _panel("Pulls", pulls),
            _panel("How it is counted", Words(HOW_COUNTED, role="small", tone="muted")),
            _panel("What came back; bars against the most frequent", self.complaints),
            _panel("Why: what was found; bars against the most frequent", self.causes),
            _panel("Cases closed in each month", self.cases),
            _panel("Hours they took, by the month they were closed in", self.hours),
        ]
        self._wide: bool | None = None
        self._arrange()

    def show_numbers(self, numbers: Numbers) -> None:
        """Show what was counted."""
        for model, bars in zip(self._models, (numbers.complaints, numbers.causes), strict=True):
            model.set_rows(_rows(bars, numbers.cases))
        named = list(zip(month_names(numbers.months), numbers.months, strict=True))
        self.cases.show_columns([Column(n, float(m.cases), str(m.cases)) for n, m in named])
        self.hours.show_columns([Column(n, m.hours, m.hours_said) for n, m in named])
        clear(self.pulls)
        for line in pull_lines(numbers):
            self.pulls.addWidget(Words(line))
        self._fit()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._arrange()
        self._fit()

    def _fit(self) -> None:
        for view in (self.complaints, self.causes):
            view.setFixedHeight(max(1, view.content_height()))

    def _arrange(self) -> None:
        wide = self.width() >= _WIDE_LINES * self.fontMetrics().height()
        if wide == self._wide:
            return
        self._wide = wide
        for panel in self._panels:
            self._grid.removeWidget(panel)
        columns = 2 if wide else 1
        # Below each other, how it is counted comes last.
        how = self._panels[1]
        order = self._panels if wide else [*(p for p in self._panels if p is not how), how]
        for i, panel in enumerate(order):
            self._grid.addWidget(panel, i // columns, i % columns, Qt.AlignmentFlag.AlignTop)
        for column in range(2):
            self._grid.setColumnStretch(column, 1 if column < columns else 0)


def _panel(title: str, content: QWidget) -> QWidget:
    panel = QWidget()
    column = QVBoxLayout(panel)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(theme.STEP)
    column.addWidget(heading(title))
    column.addWidget(content)
    return panel


def _rows(bars: Sequence[Bar], cases: int) -> list[tuple[str, Ranked]]:
    """Give the rows of a plot; what is rare is one row at its end."""
    rows = [
        (
            bar.id,
            Ranked(sentence(bar.name), bar.among(cases), share=bar.times / bars[0].times),
        )
        for bar in bars[:_LISTED]
    ]
    rest = bars[_LISTED:]
    if rest:
        words = f"{sum(bar.times for bar in rest)} times in all"
        rows.append(("", Ranked(f"{len(rest)} others", words)))
    return rows
