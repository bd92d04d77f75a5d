"""The page with the numbers of the shop: plots of the closed cases, by period."""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from threading import Event

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.records.kept import Closing
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui import theme
from ui.jobs import Job as Task
from ui.jobs import Jobs
from ui.models.rows import RowsModel
from ui.records import Records
from ui.shop_numbers import (
    HOW_COUNTED,
    PERIODS,
    Bar,
    Job,
    Numbers,
    Period,
    csv_text,
    first_day,
    job_of,
    numbers_of,
    pull_lines,
    within,
)
from ui.views.parts import clear, quiet_button, sentence
from ui.widgets.columns import Column, Columns
from ui.widgets.rows import Ranked, RowView
from ui.widgets.scroll import Scroll
from ui.widgets.switch import Switch
from ui.widgets.text import Words, heading

_WAIT = "Counting the closed cases …"
_EMPTY = "No case was closed with something found in this time. Close one with Ctrl+E."
_LISTED = 8
_WIDE_LINES = 46  # narrower than so many lines of text, all stands below each other


class ShopNumbersPage(QWidget):
    """Counts closed cases.

    Parameters
    ----------
    base : KnowledgeBase
    records : Records
    jobs : Jobs
    today : callable
        Gives the day on which the periods end.

    Signals
    -------
    left
        The user is done here.
    said(str)
        Something happened that is worth a sentence.
    failed(str, str)
        Something went wrong: a sentence, and the next step.
    """

    left = Signal()
    said = Signal(str)
    failed = Signal(str, str)

    def __init__(
        self,
        base: KnowledgeBase,
        records: Records,
        jobs: Jobs,
        today: Callable[[], date] = date.today,
    ) -> None:
        super().__init__()
        self._base, self._records, self._jobs, self._today = base, records, jobs, today
        self._known: dict[str, Job] = {}
        self.shown: tuple[Job, ...] = ()
        self.ask_path: Callable[[], str] = self._ask_path
        self.period = Switch(
            "Closed in the last", [(key, f"{name}") for key, name, _ in PERIODS], most=3
        )
        self.period.set_value("year")
        self.period.changed.connect(lambda _key: self.refresh())
        self.export = quiet_button("&Save as a table …", self.save)
        back = quiet_button("&Back (Esc)", self.left.emit)
        head = QHBoxLayout()
        head.setSpacing(theme.STEP)
        head.addWidget(Words("Numbers of the shop", role="title", weight="bold"), 1)
        head.addWidget(self.export)
        head.addWidget(back)
        self.about = Words(_WAIT, role="lead")
        self._charts = _Charts()
        content = QWidget()
        column = QVBoxLayout(content)
        margin = 3 * theme.STEP
        column.setContentsMargins(margin, 2 * theme.STEP, margin, 2 * theme.STEP)
        column.setSpacing(2 * theme.STEP)
        column.addLayout(head)
        column.addWidget(self.period)
        column.addWidget(self.about)
        column.addWidget(self._charts)
        column.addStretch(1)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(Scroll(content))
        self.setTabOrder(self.period, self.export)

    @property
    def charts(self) -> "_Charts":
        """The plots."""
        return self._charts

    def take_focus(self) -> None:
        """Put the focus on the choice of the period, and count."""
        self.period.buttons[self.period.value].setFocus(Qt.FocusReason.OtherFocusReason)
        self.refresh()

    def refresh(self) -> None:
        """Count anew, beside the window."""
        base, records, known = self._base, self._records, dict(self._known)
        period, today = self._period(), self._today()
        stale = Event()
        self.about.setText(_WAIT)
        self._jobs.start(
            "shop numbers",
            Task(
                lambda: _jobs_of(base, records, known, first_day(period, today), stale),
                lambda found: self._on_counted(found, period, today),
                self._on_failed,
                stale.set,
            ),
        )

    def save(self) -> None:
        """Let the user choose a file and write the cases that are counted into it."""
        chosen = self.ask_path() if self.shown else ""
        if not chosen:
            return
        path = Path(chosen)
        path = path if path.suffix else path.with_suffix(".csv")
        try:
            # The mark tells spreadsheets that it is UTF-8.
            path.write_text(csv_text(self._base, self.shown), encoding="utf-8-sig", newline="")
        except OSError as error:
            said = (error.strerror or str(error)).lower()
            self.failed.emit(f"{path} could not be written: {said}.", "Choose another place.")
            return
        self.said.emit(f"{len(self.shown)} cases are in {path}.")

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _period(self) -> Period:
        return next(key for key, _, _ in PERIODS if key == self.period.value)

    def _on_counted(self, found: dict[str, Job] | None, period: Period, today: date) -> None:
        if found is None:
            return
        self._known |= found
        self.shown = within(found.values(), period, today)
        numbers = numbers_of(self._base, self.shown)
        self.export.setEnabled(bool(self.shown))
        self.about.setText(_summary(numbers))
        self._charts.show_numbers(numbers)
        self._charts.setVisible(bool(numbers.cases))

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, PullOnceError):
            raise error
        self.about.setText(f"{error.sentence} {error.next_step}")

    def _ask_path(self) -> str:
        start = str(Path.home() / "pull-once-cases.csv")
        return QFileDialog.getSaveFileName(self, "Save the cases", start, "Tables (*.csv)")[0]


class _Charts(QWidget):
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
            _panel("What came back: complaints", self.complaints),
            _panel("Why: what was found", self.causes),
            _panel("Cases closed", self.cases),
            _panel("Hours they took", self.hours),
            _panel("Pulls", pulls),
        ]
        self._wide: bool | None = None
        self._arrange()

    def show_numbers(self, numbers: Numbers) -> None:
        """Show what was counted."""
        for model, bars in zip(self._models, (numbers.complaints, numbers.causes), strict=True):
            model.set_rows(_rows(bars, numbers.cases))
        named = [(f"{m.first:%b %y}", m) for m in numbers.months]
        self.cases.show_columns([Column(n, float(m.cases), str(m.cases)) for n, m in named])
        self.hours.show_columns([Column(n, m.hours, f"{m.hours:.1f} h") for n, m in named])
        clear(self.pulls)
        for line in pull_lines(numbers):
            self.pulls.addWidget(Words(line))
        self.pulls.addWidget(Words(HOW_COUNTED, role="small", tone="muted"))
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
        for i, panel in enumerate(self._panels[:4]):
            self._grid.addWidget(panel, i // columns, i % columns, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(self._panels[4], 4, 0, 1, columns)
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
            Ranked(sentence(bar.name), f"{bar.times} of {cases}", share=bar.times / max(1, cases)),
        )
        for bar in bars[:_LISTED]
    ]
    rest = bars[_LISTED:]
    if rest:
        words = f"{sum(bar.times for bar in rest)} times in all"
        rows.append(("", Ranked(f"{len(rest)} others", words)))
    return rows


def _summary(numbers: Numbers) -> str:
    if not numbers.cases:
        return _EMPTY
    cases = "1 case" if numbers.cases == 1 else f"{numbers.cases} cases"
    mean = hours(numbers.hours / numbers.cases)
    guesses = numbers.cases - numbers.confirmed
    guessed = f" What was found is a guess in {guesses}." if guesses else ""
    return f"{cases} closed, {hours(numbers.hours)} in all, {mean} for each.{guessed}"


def _jobs_of(
    base: KnowledgeBase,
    records: Records,
    known: dict[str, Job],
    first: date | None,
    stale: Event,
) -> dict[str, Job] | None:
    """Read the closed cases of a period; None if nobody waits any more.

    Raises
    ------
    StoreError
        If the store can't give them.
    """
    store, found = records.store, {}
    for ended in store.closings():
        if stale.is_set():
            return None
        if first is not None and _day(ended) < first.isoformat():
            continue
        old = known.get(ended.id)
        same = old is not None and (old.causes, old.sure) == (ended.causes, ended.sure)
        if old is not None and same and old.day.isoformat() == _day(ended):
            found[ended.id] = old
        else:
            found[ended.id] = job_of(base, ended, store.read(ended.id).case)
    return found


def _day(ended: Closing) -> str:
    return (ended.closed or ended.opened)[:10]
