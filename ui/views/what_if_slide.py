"""One slider of the page that says what if."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.sliders import Slider
from ui import theme
from ui.what_if_rows import slid_words
from ui.widgets.text import Words
from ui.widgets.zero_slider import ZeroSlider


class SlideRow(QWidget):
    """One slider under its name, with how far it is slid.

    Signals
    -------
    slid(str, float)
        Slider id, and how far in its unit.
    """

    slid = Signal(str, float)

    def __init__(self, slider: Slider) -> None:
        super().__init__()
        self._slider = slider
        self.bar = ZeroSlider()
        self.bar.setRange(round(slider.low / slider.step), round(slider.high / slider.step))
        self.bar.setSingleStep(1)
        self.bar.setPageStep(max(1, round(1.0 / slider.step)))
        self.bar.setMinimumHeight(3 * theme.STEP)
        name = Words(slider.name, role="small", weight="bold")
        name.setBuddy(self.bar)
        self._said = Words("", role="small", wrap=False)
        head = QHBoxLayout()
        head.setSpacing(theme.STEP)
        head.addWidget(name, 1)
        head.addWidget(self._said)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, theme.STEP, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self.bar)
        self.bar.valueChanged.connect(self._on_changed)
        self._tell()

    @property
    def amount(self) -> float:
        """How far it is slid, in its unit."""
        return round(self.bar.value() * self._slider.step, 6)

    def set_amount(self, amount: float) -> None:
        """Slide it."""
        self.bar.setValue(round(amount / self._slider.step))

    def _on_changed(self) -> None:
        self._tell()
        self.slid.emit(self._slider.id, self.amount)

    def _tell(self) -> None:
        said = slid_words(self._slider, self.amount)
        self._said.setText(said)
        self.bar.setAccessibleName(f"{self._slider.name}: {said}")
