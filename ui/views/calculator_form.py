"""What one calculator asks, as fields made from its record."""

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from diagnose.calculators import Calculator, Known, Option, several
from ui import theme
from ui.views.parts import sentence
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.labelled import Labelled
from ui.widgets.text import Words

_LINES = 14  # a field is as wide as so many lines of text are high
_LONGEST = 200
_OPEN = "not said"


class CalculatorForm(QWidget):
    """The fields of a calculator; what the set-up knows stands in them in grey.

    Parameters
    ----------
    calculator : Calculator
    texts : mapping
        What stands in the fields, by name of the option.

    Signals
    -------
    changed
        Something else is typed.
    """

    changed = Signal()

    def __init__(
        self, calculator: Calculator, texts: Mapping[str, str], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.calculator = calculator
        self.fields: dict[str, Field | ChoiceBox] = {}
        self.legend = Words("", role="small", tone="muted")
        self.legend.hide()
        self.hint = Words("", role="small", tone="muted")
        self.more = QPushButton()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP)
        usual = [option for option in calculator.options if not option.seldom]
        seldom = [option for option in calculator.options if option.seldom]
        column.addWidget(self.legend)
        column.addWidget(self._grid(usual, texts))
        self._seldom = self._grid(seldom, texts)
        column.addWidget(self.more, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self._seldom)
        self._fold(seldom, opened=any(_stands(option, texts) for option in seldom))
        column.addWidget(self.hint)
        self.hint.setMinimumHeight(2 * self.hint.fontMetrics().height())

    def _grid(self, options: list[Option], texts: Mapping[str, str]) -> EvenGrid:
        grid = EvenGrid(4, gap=2 * theme.STEP)
        for option in options:
            text = texts.get(option.name, "")
            field = self._choice(option, text) if option.choices else self._field(text)
            field.installEventFilter(self)
            field.setProperty("option", option.name)
            self.fields[option.name] = field
            grid.add(Labelled(sentence(option.label), sentence(option.help), field, lines=_LINES))
        return grid

    def _field(self, text: str) -> Field:
        field = Field(text)
        field.setMaxLength(_LONGEST)
        field.setClearButtonEnabled(False)
        field.textChanged.connect(lambda _: self.changed.emit())
        field.returnPressed.connect(self._go_on)
        return field

    def _choice(self, option: Option, text: str) -> ChoiceBox:
        choice = ChoiceBox()
        if not option.default or option.setup:
            choice.addItem(option.default or _OPEN, "")
        for word in option.choices:
            choice.addItem(_plain(word), word)
        choice.setCurrentIndex(max(0, choice.findData(text or option.default)))
        if option.setup and not text:
            choice.setCurrentIndex(0)
        choice.currentIndexChanged.connect(lambda _: self.changed.emit())
        return choice

    def _fold(self, seldom: list[Option], *, opened: bool) -> None:
        """Keep what is seldom asked out of sight until it is wanted."""
        self.more.setText(f"&More figures ({len(seldom)})")
        self.more.setCheckable(True)
        self.more.setAutoDefault(False)
        theme.mark(self.more, kind="quiet")
        self.more.setVisible(bool(seldom))
        self.more.toggled.connect(self._seldom.setVisible)
        self.more.setChecked(opened)
        self._seldom.setVisible(opened)

    def show_known(self, known: Mapping[str, Known]) -> None:
        """Show what the set-up knows where nothing is typed."""
        for name, field in self.fields.items():
            option, value = self.calculator.option(name), known.get(name)
            said = f"{value.text}, {value.origin}" if value is not None else ""
            if isinstance(field, Field):
                field.setPlaceholderText(said or option.default)
                field.setCursorPosition(len(field.text()))
            elif option.setup:
                field.setItemText(0, _plain(said) if said else option.default or _OPEN)

    def say(self, text: str, *, tone: str = "muted") -> None:
        """Say something above the fields."""
        self.legend.set_tone(tone)
        self.legend.say(text)

    def texts(self) -> Mapping[str, str]:
        """What stands in the fields that are not empty."""
        found = {
            name: field.text().strip()
            if isinstance(field, Field)
            else str(field.currentData() or "")
            for name, field in self.fields.items()
        }
        return {name: text for name, text in found.items() if text}

    def typed(self) -> Mapping[str, tuple[str, ...]]:
        """What was typed, value by value; a seldom choice that stands as usual was not."""
        found: dict[str, tuple[str, ...]] = {}
        for name, text in self.texts().items():
            option = self.calculator.option(name)
            if not (option.seldom and option.choices and text == option.default):
                found[name] = several(text) if option.many else (text,)
        return found

    def stops(self) -> list[QWidget]:
        """Give what the focus stops at, in its order."""
        usual = [f for f in self.fields.values() if not self._seldom.isAncestorOf(f)]
        seldom = [f for f in self.fields.values() if self._seldom.isAncestorOf(f)]
        return [*usual, self.more, *seldom]

    def take_focus(self) -> None:
        """Put the focus on the first field where nothing stands yet."""
        fields = self.fields.values()
        shown = [f for f in fields if self.more.isChecked() or not self._seldom.isAncestorOf(f)]
        empty = [f for f in shown if isinstance(f, Field) and not f.text()]
        (empty or shown)[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def clear(self) -> None:
        """Forget what was typed."""
        for name, field in self.fields.items():
            if isinstance(field, Field):
                field.clear()
            else:
                option = self.calculator.option(name)
                place = 0 if option.setup else field.findData(option.default)
                field.setCurrentIndex(max(0, place))

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        if event.type() == QEvent.Type.FocusIn:
            name = watched.property("option")
            if isinstance(name, str):
                self.hint.setText(f"{sentence(self.calculator.option(name).help)}.")
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            # A key of the dialog that is none just now must not end up in a figure.
            return event.modifiers() == Qt.KeyboardModifier.AltModifier and bool(event.text())
        return super().eventFilter(watched, event)

    def _go_on(self) -> None:
        self.focusNextChild()


def _stands(option: Option, texts: Mapping[str, str]) -> bool:
    """Whether something else than usual stands in its field."""
    return texts.get(option.name, option.default) != option.default


def _plain(word: str) -> str:
    """Give a word of the command line as people write it."""
    return word.replace("-", " ")
