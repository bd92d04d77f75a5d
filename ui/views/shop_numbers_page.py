"""The page with the numbers of the shop: plots of the closed cases, by period."""

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from threading import Event

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.plain_yaml import write_whole
from diagnose.records.kept import Closing
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui import theme
from ui.jobs import Job as Task
from ui.jobs import Jobs
from ui.records import Records
from ui.shop_numbers import PERIODS, Job, Numbers, Period, first_day, job_of, numbers_of, within
from ui.shop_words import csv_text
from ui.views.parts import quiet_button
from ui.views.shop_charts import ShopCharts
from ui.widgets.scroll import Scroll
from ui.widgets.switch import Switch
from ui.widgets.text import Words

_WAIT = "Counting the closed cases …"
_UNDER_WAY = "Counting the closed cases: {done} of {of}."
_TOLD = 50  # cases after which it is told again how far the counting is
_EMPTY = "No case was closed with something found in this time. Close one with Ctrl+E."


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

    _progressed = Signal(int, int)  # from the thread that counts
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
        self._known: dict[Closing, Job] = {}
        self._progressed.connect(self._on_progressed)
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
        self._charts = ShopCharts()
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
    def charts(self) -> ShopCharts:
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

        def gone(done: int, of: int) -> bool:
            self._progressed.emit(done, of)
            return stale.is_set()

        self._jobs.start(
            "shop numbers",
            Task(
                lambda: _jobs_of(base, records, known, first_day(period, today), gone),
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
            write_whole(path, csv_text(self._base, self.shown).encode("utf-8-sig"))
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

    def _on_progressed(self, done: int, of: int) -> None:
        self.about.setText(_UNDER_WAY.format(done=done, of=of))

    def _on_counted(self, found: dict[Closing, Job] | None, period: Period, today: date) -> None:
        if found is None:
            return
        # Of a case that was closed today more may be noted yet.
        self._known |= {ended: job for ended, job in found.items() if job.day < today}
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
    known: Mapping[Closing, Job],
    first: date | None,
    gone: Callable[[int, int], bool],
) -> dict[Closing, Job] | None:
    """Read the closed cases of a period; None if nobody waits any more.

    Parameters
    ----------
    base : KnowledgeBase
    records : Records
    known : mapping of Closing to Job
        Those that were read before.
    first : date or None
    gone : callable
        Called now and then with how many are read of how many; gives whether nobody waits.

    Raises
    ------
    StoreError
        If the store can't give them.
    """
    store, found = records.store, {}
    ends = [e for e in store.closings() if first is None or _day(e) >= first.isoformat()]
    for done, ended in enumerate(ends):
        if done % _TOLD == 0 and gone(done, len(ends)):
            return None
        found[ended] = known.get(ended) or job_of(base, ended, store.read(ended.id).case)
    return found


def _day(ended: Closing) -> str:
    return (ended.closed or ended.opened)[:10]
