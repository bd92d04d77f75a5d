"""A choice of a few words, in the manner of the fields."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPaintEvent, QPalette, QWheelEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter

from ui import theme
from ui.widgets.sign import draw


class ChoiceBox(QComboBox):
    """A choice that the wheel changes only when it has the focus."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(10)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def paintEvent(self, event: QPaintEvent, /) -> None:
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        field = self.style().subControlRect(
            QStyle.ComplexControl.CC_ComboBox, option, QStyle.SubControl.SC_ComboBoxEditField, self
        )
        # A choice that is longer than the box ends in dots, not in half a word.
        room = field.width() - theme.STEP
        elided = Qt.TextElideMode.ElideRight
        option.currentText = self.fontMetrics().elidedText(option.currentText, elided, room)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        side = self.fontMetrics().height() * 0.8
        box = QRectF(self.width() - side - theme.STEP, (self.height() - side) / 2, side, side)
        draw(painter, "more", box, self.palette().color(QPalette.ColorRole.Link))
        painter.end()

    def wheelEvent(self, event: QWheelEvent, /) -> None:
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()
