"""What the parts of a repair cost: one field on the card of the repair."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from diagnose.advice_words import parts_line
from diagnose.case import Case
from ui import messages, theme
from ui.money import money_text, read_money
from ui.widgets.field import Field
from ui.widgets.text import Words

_ABOUT = (
    "What the parts of this repair cost, with the currency; may stay empty. With the labour for an "
    "hour, dear parts are not tried before what is cheaper to look at."
)


class PartsPrice(QWidget):
    """Asks for the price of the parts; what makes no sense is said below and changes nothing.

    Signals
    -------
    priced(object, str)
        The price, None for none, and its currency, empty if none was written.
    """

    priced = Signal(object, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._case, self._cause = Case(), ""
        self._kept: tuple[str, str] | None = None  # the cause asked about, and its price as written
        self.field = Field()
        self.field.setAccessibleName("Parts cost")
        self.field.setAccessibleDescription(_ABOUT)
        self.field.setToolTip(_ABOUT)
        self.field.editingFinished.connect(self._on_typed)
        label = QLabel("&Parts cost")
        label.setBuddy(self.field)
        self.words = Words("", role="small", tone="muted")
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(theme.STEP)
        grid.addWidget(label, 0, 0)
        grid.addWidget(self.field, 0, 1)
        grid.addWidget(self.words, 0, 2, Qt.AlignmentFlag.AlignVCenter)
        grid.setColumnStretch(1, 2)
        grid.setColumnStretch(2, 5)

    def ask(self, case: Case, cause: str) -> None:
        """Ask for the parts that put a cause right; what is being typed stays."""
        self._case, self._cause = case, cause
        shown = (cause, money_text(case.parts.get(cause), case.currency))
        if shown != self._kept:
            self._kept = shown
            self.field.setText(shown[1])
        self.field.setPlaceholderText(f"such as 120 {case.currency or 'EUR'}")
        self._say("")

    def forget(self) -> None:
        """Drop what is typed and was not taken, before another step is asked about."""
        self._kept = None

    def _on_typed(self) -> None:
        typed, ours = self.field.text().strip(), self._case.currency
        price = read_money(typed)
        if typed and price is None:
            self._say(messages.NO_PRICE)
        elif price is not None and ours and price[1] not in {"", ours}:
            self._say(messages.OTHER_CURRENCY.format(currency=ours))
        else:
            self._say("")
            amount, currency = price or (None, "")
            self._kept = self._cause, money_text(amount, ours or currency)
            self.field.setText(self._kept[1])  # and its own undo gives way to that of the window
            self.priced.emit(amount, currency)

    def _say(self, wrong: str) -> None:
        """Say what is wrong with what is typed, or else how the price counts."""
        self.words.set_tone("caution" if wrong else "muted")
        self.words.setText(wrong or parts_line(self._case, self._cause))
