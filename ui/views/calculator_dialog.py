"""Working things out at the bench: the calculators, and the way of their results into the case."""

from collections.abc import Mapping
from itertools import pairwise

from PySide6.QtCore import QModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPalette, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QPushButton,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from diagnose.calculators import (
    CALCULATORS,
    Calculator,
    Known,
    calculate,
    calculator_for,
    from_case,
    offers,
    with_known,
)
from diagnose.errors import PullOnceError
from ui import theme
from ui.models.rows import KEY, RowsModel
from ui.session import Session
from ui.views.calculator_form import CalculatorForm
from ui.views.calculator_memory import CalculatorMemory
from ui.views.calculator_result import ResultPanel
from ui.views.calculator_taking import TakingPanel
from ui.views.parts import clear
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.notice import Notice
from ui.widgets.rows import Index, Ranked, RowDelegate, RowView
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words

# In lines of text.
_WIDE = 60  # narrower than this, everything stands below each other
_LIST = 10
_SIZE = (84, 52)
_IN_GREY = "What stands in grey is known of this set-up. Type over it."
_NO_SETUP = "Say in the intake what it is fitted to, and what is known of it stands here."


class CalculatorDialog(QDialog):
    """A list of calculators, the form of one, and its result as it is typed.

    Parameters
    ----------
    session : Session
    memory : CalculatorMemory
        What stands in the fields; kept up to date for the next time.
    check : str or None
        Id of the check that something is to be worked out for.
    parent : QWidget
    """

    def __init__(
        self, session: Session, memory: CalculatorMemory, check: str | None, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Work it out")
        self._session = session
        self._memory = memory
        self._window = parent.window()
        self._wide: bool | None = None
        self._title = Words()
        self.said = Words("", weight="bold")  # the result, where it is not beside the form
        self.list = _CalculatorList(self)
        self._rows = RowsModel(self)
        self._rows.set_rows([(c.name, Ranked(c.label, "")) for c in CALCULATORS.values()])
        self.list.setModel(self._rows)
        self.choice = ChoiceBox()
        self.choice.setAccessibleName("What to work out")
        for calculator in CALCULATORS.values():
            self.choice.addItem(calculator.label, calculator.name)
        self.form: CalculatorForm | None = None
        self._above = QVBoxLayout()
        self._forms = QVBoxLayout()
        self.taking = TakingPanel(session)
        self.outcome = ResultPanel(session.base, self.taking)
        self.empty_button = _button("Em&pty the fields")
        self.close_button = _button("&Close (Esc)", kind="primary")
        self._middle = QVBoxLayout()
        self._beside = QVBoxLayout()
        self._lay_out()
        self.list.selectionModel().currentChanged.connect(self._on_row)
        self.choice.activated.connect(lambda _: self.choose(str(self.choice.currentData())))
        self.taking.taken.connect(self._on_taken)
        self.taking.changed.connect(self._order)
        session.case_changed.connect(self._on_case_changed)
        wanted = calculator_for(session.base, check) if check is not None else None
        if wanted is not None:
            memory.begin(wanted[0].name, wanted[1])
        self.choose(memory.chosen or next(iter(CALCULATORS)))

    def _lay_out(self) -> None:
        middle, beside = QWidget(), QWidget()
        for widget, column in ((middle, self._middle), (beside, self._beside)):
            column.setContentsMargins(0, 0, theme.STEP, 0)
            column.setSpacing(2 * theme.STEP)
            widget.setLayout(column)
        for layout in (self._above, self._forms):
            layout.setSpacing(theme.STEP)
            self._middle.addLayout(layout)
        self._middle_scroll, self._beside_scroll = Scroll(middle), Scroll(beside)
        row = QHBoxLayout()
        row.setSpacing(2 * theme.STEP)
        row.addWidget(self.list)
        row.addWidget(self._middle_scroll, 11)
        row.addWidget(self._beside_scroll, 8)
        foot = QHBoxLayout()
        foot.setSpacing(theme.STEP)
        self.empty_button.clicked.connect(lambda _=False: self._on_empty())
        self.close_button.clicked.connect(self.reject)
        foot.addWidget(self.empty_button)
        foot.addWidget(self.said, 1)
        foot.addWidget(self.close_button)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(3 * theme.STEP, 3 * theme.STEP, 2 * theme.STEP, 2 * theme.STEP)
        outer.setSpacing(2 * theme.STEP)
        outer.addWidget(self.choice)
        outer.addLayout(row, 1)
        outer.addLayout(foot)

    @property
    def calculator(self) -> Calculator:
        """The calculator that is shown."""
        return CALCULATORS[str(self.list.currentIndex().data(KEY))]

    def choose(self, name: str) -> None:
        """Show a calculator."""
        self.list.setCurrentIndex(self._rows.index(self._rows.row_of(name), 0))

    def take_focus(self) -> None:
        """Put the focus into the form."""
        if self.form is not None:
            self.form.take_focus()

    def showEvent(self, event: QShowEvent, /) -> None:
        line = self.fontMetrics().height()
        wanted = QSize(_SIZE[0] * line, _SIZE[1] * line)
        self.resize(wanted.boundedTo(self._window.size() * 0.94))
        middle = self._window.mapToGlobal(self._window.rect().center())
        self.move(middle - self.rect().center())
        super().showEvent(event)
        self.take_focus()

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """Put list, form and result beside each other, or below where there is no room."""
        line = self.fontMetrics().height()
        wide = self.width() >= _WIDE * line
        self.list.setFixedWidth(_LIST * line)
        if wide == self._wide:
            return
        self._wide = wide
        self.list.setVisible(wide)
        self.choice.setVisible(not wide)
        self._title.setVisible(wide)  # else the choice above says it
        self._say()
        self._beside_scroll.setVisible(wide)
        for column in (self._middle, self._beside):
            column.removeWidget(self.outcome)
            while column.count() > (2 if column is self._middle else 0):
                column.takeAt(column.count() - 1)
        (self._beside if wide else self._middle).addWidget(self.outcome)
        for column in (self._middle, self._beside):
            column.addStretch(1)
        self._order()

    def _on_row(self, index: QModelIndex) -> None:
        """Show the form of the marked calculator."""
        if not index.isValid():
            return
        calculator = self.calculator
        self._memory.chosen = calculator.name
        self.choice.setCurrentIndex(self.choice.findData(calculator.name))
        clear(self._forms)
        self.form = CalculatorForm(calculator, self._memory.texts.get(calculator.name, {}))
        self.form.changed.connect(self._on_changed)
        self._forms.addWidget(self.form)
        self._middle_scroll.verticalScrollBar().setValue(0)
        self._show_above()
        self._on_changed()

    def _show_above(self) -> None:
        """What it is for, and the cautions that were not read yet."""
        clear(self._above)
        calculator, case = self.calculator, self._session.case
        self._title = Words(calculator.label, role="title", weight="bold")
        self._above.addWidget(self._title)
        self._title.setVisible(bool(self._wide))
        self._above.addWidget(Words(calculator.text, tone="muted"))
        base = self._session.base
        unread = [base.cautions[c].text for c in calculator.cautions if c not in case.acknowledged]
        if unread:
            self._above.addWidget(Notice("caution", *unread))

    def _on_changed(self) -> None:
        """Work it out as it is typed."""
        form = self.form
        if form is None:
            return
        self._memory.texts[form.calculator.name] = dict(form.texts())
        self._beside_scroll.verticalScrollBar().setValue(0)
        typed = form.typed()
        known = self._known(form, typed)
        form.show_known(known)
        try:
            outcome = calculate(form.calculator, with_known(typed, known))
        except PullOnceError as error:
            self.outcome.show_refusal(error)
            self.taking.show_offers(())
            self._say()
            return
        self.outcome.show_outcome(form.calculator, outcome)
        session = self._session
        self.taking.show_offers(offers(session.base, session.case, form.calculator, typed, outcome))
        self._say()

    def _say(self) -> None:
        """Keep the result in sight where it stands below the form."""
        self.said.setText("" if self._wide else self.outcome.said)
        self.said.set_tone("" if self.outcome.settled else "muted")

    def _known(
        self, form: CalculatorForm, typed: Mapping[str, tuple[str, ...]]
    ) -> Mapping[str, Known]:
        """Give what the set-up knows of what was not typed, and say where nothing is known."""
        if not any(option.setup for option in form.calculator.options):
            return {}
        try:
            known = from_case(form.calculator, self._session.case, typed)
        except PullOnceError as error:
            form.say(str(error), tone="caution")
            return {}
        form.say(_IN_GREY if known else _NO_SETUP)
        return {name: value for name, value in known.items() if name not in typed}

    def _order(self) -> None:
        """Let Tab go from the list through the form to the result, whenever each was made."""
        if self._wide is None:  # not laid out yet
            return
        form = self.form.stops() if self.form is not None else []
        last = [self.empty_button, self.close_button]
        for one, next_ in pairwise([self.list, self.choice, *form, *self.taking.stops(), *last]):
            QWidget.setTabOrder(one, next_)

    def _on_empty(self) -> None:
        if self.form is not None:
            self.form.clear()
            self.form.take_focus()

    def _on_taken(self) -> None:
        self.close_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_case_changed(self) -> None:
        if self.isVisible():
            self._show_above()


class _CalculatorList(RowView):
    """The calculators: the marked one is shown, Enter goes into its form."""

    def __init__(self, dialog: CalculatorDialog) -> None:
        super().__init__("What to work out")
        self.setItemDelegate(_Shown(self))
        self._dialog = dialog

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Right}:
            self._dialog.take_focus()
        else:
            super().keyPressEvent(event)


class _Shown(RowDelegate):
    """Marks the row that is shown, wherever the focus is."""

    def __init__(self, view: RowView) -> None:
        super().__init__(view)
        self._list = view

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index, /) -> None:
        if self._list.currentIndex() == index:
            colours = self._list.palette()
            painter.fillRect(option.rect, colours.brush(QPalette.ColorRole.AlternateBase))
            edge = QRect(option.rect.topLeft(), QSize(theme.RADIUS, option.rect.height()))
            painter.fillRect(edge, colours.brush(QPalette.ColorRole.Highlight))
        super().paint(painter, option, index)


def _button(text: str, *, kind: str = "") -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    theme.mark(button, kind=kind)
    return button
