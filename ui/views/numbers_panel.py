"""The page of numbers: every reading so far beside what the leading causes predict for it."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QScrollArea, QWidget

from ui import theme
from ui.numbers import Measured, Tally, measured, tallies
from ui.predictions import alone_words
from ui.session import Session
from ui.views.parts import clear, sentence
from ui.widgets.forecast_chart import ForecastChart
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words, hairline, heading

_NONE = (
    "No reading has been taken yet. Type one on the card of a check that asks for it; then it "
    "stands here, beside what each cause would make it read."
)
_WAITING = "Working it out …"
_LINES_WIDE, _LINES_HIGH = 60, 40
_PAGES = {
    Qt.Key.Key_PageDown: 1.0,
    Qt.Key.Key_PageUp: -1.0,
    Qt.Key.Key_Down: 0.2,
    Qt.Key.Key_Up: -0.2,
}


class NumbersDialog(PanelDialog):
    """Measured against predicted; the page keys scroll it."""

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__("Numbers", parent)
        self._session = session
        self._area = self.findChildren(QScrollArea)[0]
        self.buttons.addStretch(1)
        close = self.add_button("&Close (Esc)", kind="primary")
        close.clicked.connect(self.reject)
        close.setDefault(True)
        close.setFocus(Qt.FocusReason.OtherFocusReason)
        session.assessment_changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the readings as the case stands."""
        clear(self.column)
        standing = None if self._session.busy else self._session.standing
        self.column.addWidget(heading("Measured against predicted"))
        self.column.addWidget(Words("Numbers", role="title", weight="bold"))
        if standing is None:
            self.column.addWidget(Words(_WAITING, tone="muted"))
        else:
            readings = measured(standing.assessment)
            if not readings:
                self.column.addWidget(Words(_NONE, tone="muted"))
            summary = tallies(standing.assessment)
            if summary:
                self.column.addLayout(_summary(summary))
            for reading in readings:
                self._add(reading)
        self.column.addStretch(1)
        if self.isVisible():
            self.fit()

    def _wanted(self, line: int) -> QSize:
        usual = super()._wanted(line)
        return QSize(max(usual.width(), _LINES_WIDE * line), _LINES_HIGH * line)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        share = _PAGES.get(Qt.Key(event.key()))
        if share is None:
            super().keyPressEvent(event)
            return
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + round(share * bar.pageStep()))

    def _add(self, reading: Measured) -> None:
        self.column.addWidget(hairline())
        self.column.addWidget(Words(reading.name, role="lead", weight="bold"))
        self.column.addWidget(Words(sentence(reading.said)))
        if reading.note:
            self.column.addWidget(Words(reading.note, tone="muted"))
        if reading.chart is not None:
            chart = ForecastChart()
            chart.setAccessibleName(f"{reading.name}: what each cause would show")
            chart.show_chart(reading.chart)
            self.column.addWidget(chart)
            alone = alone_words(reading.foreseen)
            for text in (alone, reading.foreseen.hint):
                if text:
                    self.column.addWidget(Words(text, role="small", tone="muted"))
        elif reading.foreseen.why_not:
            self.column.addWidget(Words(reading.foreseen.why_not, role="small", tone="muted"))
        if reading.limits:
            self.column.addWidget(Words("\n".join(reading.limits), role="small"))


def _summary(rows: tuple[Tally, ...]) -> QGridLayout:
    """Which causes go with all readings together."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(2 * theme.STEP)
    grid.setVerticalSpacing(theme.STEP // 2)
    for column, share in enumerate((4, 0, 5)):
        grid.setColumnStretch(column, share)
    for row, tally in enumerate(rows):
        grid.addWidget(Words(sentence(tally.name), weight="bold"), row, 0)
        chance = Words(tally.note, tone="muted", wrap=False)
        grid.addWidget(chance, row, 1, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(Words(tally.words), row, 2)
    return grid
