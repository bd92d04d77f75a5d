"""The answer that is a reading: a field, what was understood, and what the causes would show."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.comparison import band_words
from knowledge.model import KnowledgeBase
from ui import messages, theme
from ui.gauge_entry import (
    Refused,
    Understood,
    begins_no_reading,
    how_to_write,
    understand,
    unit_written,
)
from ui.predictions import Foreseen, alone_words, chart_for, few_verdict_lines, foresee
from ui.questions import CANT_TELL, Question
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.field import Field
from ui.widgets.forecast_chart import ForecastChart
from ui.widgets.text import Words

_LONGEST = 80  # characters of a reading in a case
_USUAL = "Without a fault: {band}."


class _ReadingField(Field):
    """A field that leaves the window its keys as long as they begin no reading."""

    def event(self, event: QEvent, /) -> bool:
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and not self.text()
            and begins_no_reading(event.text())
        ):
            event.ignore()
            return True
        return super().event(event)


class GaugePad(QWidget):
    """Takes a reading.

    Parameters
    ----------
    base : KnowledgeBase
    question : Question
        About a check with a gauge.
    reading : str
        What stands in the field at first.
    instrument : str
        What it was read with; empty for what is usually taken.
    assessment : Assessment, optional
        What the predictions are made of.

    Signals
    -------
    given(str, str, str)
        Id of the choice, the reading as typed, and the instrument (empty if there is no choice).
    typed
        The text in the field is another.
    """

    given = Signal(str, str, str)
    typed = Signal()

    def __init__(
        self,
        base: KnowledgeBase,
        question: Question,
        *,
        reading: str = "",
        instrument: str = "",
        assessment: Assessment | None = None,
    ) -> None:
        super().__init__()
        self._base = base
        self._check = base.checks[question.subject[1]]
        self._record = base.measurements[str(self._check.gauge)]
        self._how = question.how
        self._assessment: Assessment | None = None
        self._foreseen: Foreseen | None = None
        self._understood: Understood | Refused | None = None
        self._chart_early = True
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.field = _ReadingField(reading)
        self.unit = Words(self._record.unit, tone="muted", wrap=False)
        self.take = QPushButton("Take it (Enter)")
        self.unsure = QPushButton("&Can't tell")
        self.instruments = ChoiceBox()
        self.said = Words("", tone="muted")
        self.chart = ForecastChart()
        self.usual = Words("", tone="muted")
        self.alone = Words("", role="small", tone="muted")
        self.hint = Words("", role="small", tone="muted")
        self.limits = Words("", role="small")
        self._fill(instrument)
        self._lay_out()
        self._connect()
        self.show_assessment(assessment)

    def _fill(self, instrument: str) -> None:
        theme.mark(self.take, kind="primary")
        for name, record in self._record.instruments.items():
            self.instruments.addItem(record.name, name)
        place = self.instruments.findData(instrument)
        self.instruments.setCurrentIndex(max(0, place))
        name = f"Reading in {self._record.unit}" if self._record.unit else "Reading"
        self.field.setAccessibleName(name)
        self.field.setMaxLength(_LONGEST)
        self.instruments.setAccessibleName("Read with")
        policy = self.unit.sizePolicy()
        policy.setRetainSizeWhenHidden(True)  # nothing moves where the text brings its own unit
        self.unit.setSizePolicy(policy)

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        row.addWidget(_label("&Reading", self.field))
        row.addWidget(self.field, 2)
        row.addWidget(self.unit)
        if self.instruments.count() > 1:
            row.addWidget(_label("&with", self.instruments))
            row.addWidget(self.instruments, 3)
        else:
            self.instruments.hide()
        heard = QHBoxLayout()
        heard.setSpacing(theme.STEP)
        heard.addWidget(self.said, 1)
        for button in (self.take, self.unsure):
            heard.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP)
        column.addLayout(row)
        column.addLayout(heard)
        for widget in (self.usual, self.chart, self.alone, self.hint, self.limits):
            column.addWidget(widget)

    def _connect(self) -> None:
        self.field.textChanged.connect(lambda _text: self._on_typed())
        self.field.returnPressed.connect(self._on_enter)
        self.take.clicked.connect(lambda _=False: self._on_enter())
        self.unsure.clicked.connect(lambda _=False: self.given.emit(CANT_TELL, "", ""))
        self.instruments.currentIndexChanged.connect(lambda _place: self._foresee())

    @property
    def instrument(self) -> str:
        """What it is read with; empty if there is no choice."""
        return str(self.instruments.currentData()) if self.instruments.count() > 1 else ""

    def show_assessment(self, assessment: Assessment | None) -> None:
        """Show what this assessment predicts; nothing if there is none."""
        self._assessment = assessment
        self._foresee()

    def show_chart_early(self, early: bool) -> None:
        """Say whether there is room for the chart before anything is typed."""
        if early != self._chart_early:
            self._chart_early = early
            self._show_numbers()

    def more_height(self, width: int) -> int:
        """Give how much higher it would be at a width if the chart were shown as well."""
        if self._foreseen is None or not self._foreseen.shown or self.chart.isVisibleTo(self):
            return 0
        more = (self.chart, *(w for w in (self.alone, self.hint) if w.text()))
        high = sum(part.heightForWidth(width) + theme.STEP for part in more)
        return high - self.usual.heightForWidth(width) - theme.STEP

    def _foresee(self) -> None:
        if self._assessment is None:
            self._foreseen = None
        else:
            named = self.instrument or None
            self._foreseen = foresee(self._assessment, self._record.id, named)
        self._judge()

    def _judge(self) -> None:
        """Say what stands in the field, and what it would mean."""
        typed = self.field.text().strip()
        self._understood = understand(self._base, self._check, typed) if typed else None
        found = self._understood
        guess = found.guess.replace("&", "&&") if isinstance(found, Refused) else ""
        self.take.setText(f"&Yes, {guess} (Enter)" if guess else "Take it (Enter)")
        self.take.setEnabled(bool(guess) or isinstance(found, Understood))
        self.unit.setVisible(not unit_written(typed))
        if found is None:
            self.said.set_tone("muted")
            self.said.setText(how_to_write(self._record))
        elif isinstance(found, Refused):
            self.said.set_tone("caution")
            self.said.setText(f"Not yet: {found.why} {found.next_step}".strip())
        else:
            self.said.set_tone("")
            said = f"{found.said}: {found.band.text}. {found.band.means}"
            self.said.setText(said[:1].upper() + said[1:])
        self.field.setAccessibleDescription(self.said.text() if typed else self._how)
        self._show_numbers()

    def _show_numbers(self) -> None:
        """Show the chart and the limits as far as they are known."""
        foreseen, found = self._foreseen, self._understood
        read = found if isinstance(found, Understood) else None
        shows = foreseen is not None and bool(foreseen.shown)
        charted = shows and (self._chart_early or found is not None)
        if foreseen is not None and self._assessment is not None:
            self._fill_numbers(foreseen, self._assessment.case, read)
        self.chart.setVisible(charted)
        self.usual.setVisible(shows and not charted)
        self.alone.setVisible(charted and bool(self.alone.text()))
        self.hint.setVisible((charted or not shows) and bool(self.hint.text()))
        self.limits.setVisible(bool(self.limits.text()))

    def _fill_numbers(self, foreseen: Foreseen, case: Case, read: Understood | None) -> None:
        record, spans = self._record, read.spans if read else ()
        if foreseen.shown:
            self.chart.show_chart(chart_for(foreseen, spans, read.short if read else "", case))
            self.usual.setText(_USUAL.format(band=band_words(foreseen.shown[0].forecast, record)))
        self.alone.setText(alone_words(foreseen))
        self.hint.setText(foreseen.why_not or foreseen.hint)
        named = self.instrument or None
        self.limits.setText("\n".join(few_verdict_lines(record, case, spans, named)))

    def _on_typed(self) -> None:
        self._judge()
        self.typed.emit()

    def _on_enter(self) -> None:
        if not self._take_guess():
            self._answer()

    def _take_guess(self) -> bool:
        """Put what was probably meant into the field, if anything else was typed."""
        if not isinstance(self._understood, Refused) or not self._understood.guess:
            return False
        self.field.setText(self._understood.guess)
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _answer(self) -> None:
        if isinstance(self._understood, Understood):
            reading = self.field.text().strip()
            self.given.emit(self._understood.band.id, reading, self.instrument)
        elif self._understood is None:
            self.said.setText(messages.NOTHING_TYPED)


def _label(text: str, field: QWidget) -> Words:
    label = Words(text, wrap=False, weight="bold")
    label.setTextFormat(Qt.TextFormat.AutoText)
    label.setBuddy(field)
    return label
