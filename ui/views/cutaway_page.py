"""The page of the cutaway: drawing, pedal, a cause to look at, the figures, the pedal curve."""

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSlider, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.drawings.cutaway.faults import (
    Fault,
    effects_of_case,
    fault_of,
    faults_of,
    kind_of,
    leading_fault,
)
from diagnose.drawings.cutaway.figures import Unit
from diagnose.drawings.cutaway.layout import Subject, subject_of
from diagnose.drawings.cutaway.measures import Kind
from diagnose.effects import Effects
from diagnose.physics.release_system import ReleaseSystem
from diagnose.system import system_of
from knowledge.model import KnowledgeBase
from ui import theme
from ui.views.parts import quiet_button
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.cutaway import Cutaway, Manner
from ui.widgets.cutaway_curve import PedalCurve
from ui.widgets.cutaway_table import CutawayTable
from ui.widgets.even_grid import EvenGrid
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words

_UNKNOWN = (
    "The set-up is not known well enough to draw it. Say how the clutch is worked, whether the "
    "cover is pushed or pulled, and how many discs there are."
)
_MANNERS: tuple[tuple[Manner, str], ...] = (
    ("overlay", "&Overlaid"),
    ("beside", "Side &by side"),
    ("faulty", "Faulty on&ly"),
    ("healthy", "&Healthy only"),
)
_SLIDER = 1000  # steps of the pedal's whole way


class CutawayPage(QWidget):
    """Shows the release system of a case, healthy and with a cause.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    unit : str
        ``mm`` or ``in``.
    parent : QWidget, optional

    Attributes
    ----------
    cause_changed : Signal(str)
        Id of the cause that is shown; empty for none.
    """

    cause_changed = Signal(str)

    def __init__(
        self, base: KnowledgeBase, case: Case, *, unit: Unit = "mm", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._system: ReleaseSystem | None = None
        self._effects: Effects | None = None
        self._kind = Kind()
        self.drawing = Cutaway(unit=unit)
        self._every = False  # whether all figures are wanted
        self.slider = _slider()
        self.causes = ChoiceBox()
        self.causes.setAccessibleName("Cause that is shown")
        self.buttons = {manner: _manner_button(text) for manner, text in _MANNERS}
        self.table = CutawayTable(unit=unit)
        self.more = quiet_button("", lambda: self.show_every_figure(not self._every))
        self.curve = PedalCurve()
        self.unknown = Words(_UNKNOWN, tone="muted")
        self._lay_out()
        self.slider.valueChanged.connect(self._on_slider)
        self.drawing.pad_changed.connect(self._on_pad)
        self.table.grown.connect(self._fit)
        self.causes.activated.connect(lambda _: self.show_cause(str(self.causes.currentData())))
        for manner, button in self.buttons.items():
            button.clicked.connect(lambda _=False, m=manner: self.show_manner(m))
        self.show_case(base, case)
        self.show_manner("overlay")

    @property
    def cause(self) -> str:
        """Id of the cause that is shown; empty for none."""
        subject = self.drawing.subject
        return subject.fault.id if subject is not None and subject.fault is not None else ""

    def show_case(self, base: KnowledgeBase, case: Case) -> None:
        """Show the release system of a case, healthy.

        Raises
        ------
        SheetError
            If a figure of the kit's sheet is unknown, or no quantity of the right kind.
        """
        system = system_of(case)
        self._system = system
        self._effects = None
        faults: tuple[Fault, ...] = ()
        if system is not None:
            self._effects = effects_of_case(base, case.facts, system, case.kit)
            self._kind = kind_of(case.facts, system, case.kit)
            faults = faults_of(self._effects)
        with QSignalBlocker(self.causes):
            self.causes.clear()
            self.causes.addItem("no cause: healthy", "")
            for fault in sorted(faults, key=lambda fault: fault.name):
                self.causes.addItem(fault.name, fault.id)
        self.unknown.setVisible(system is None)
        for widget in (self.drawing, self.slider, self.causes, self.table, self.curve):
            widget.setVisible(system is not None)
        self.show_cause("")

    def show_assessment(self, assessment: Assessment) -> None:
        """Show the case of an assessment with what its leading cause would look like."""
        self.show_case(assessment.network.base, assessment.case)
        if self._effects is not None:
            fault = leading_fault(self._effects, (chance.id for chance in assessment.causes))
            self.show_cause("" if fault is None else fault.id)

    def show_cause(self, cause: str) -> None:
        """Show a cause beside the healthy system; none for an empty id.

        Raises
        ------
        KeyError
            If the set-up rules the cause out or the base does not hold it.
        """
        subject: Subject | None = None
        if self._system is not None:
            fault = fault_of(self._effects, cause) if cause and self._effects else None
            subject = subject_of(self._system, self._kind, fault)
        self.drawing.set_subject(subject)
        self.curve.show_subject(subject)
        with QSignalBlocker(self.causes):
            self.causes.setCurrentIndex(max(0, self.causes.findData(cause)))
        self._manners.setVisible(subject is not None and subject.fault is not None)
        self._on_pad(self.drawing.pad)
        self.cause_changed.emit(self.cause)

    def show_manner(self, manner: Manner) -> None:
        """Show healthy and faulty overlaid, side by side, or one of them."""
        self.drawing.set_manner(manner)
        for name, button in self.buttons.items():
            button.setChecked(name == manner)

    def _lay_out(self) -> None:
        gap = 2 * theme.STEP
        pedal = QHBoxLayout()
        pedal.setSpacing(gap)
        pedal.addWidget(Words("Pedal up", tone="muted"))
        pedal.addWidget(self.slider, 1)
        pedal.addWidget(Words("on the floor", tone="muted"))
        left = QVBoxLayout()
        left.setSpacing(theme.STEP)
        left.addWidget(self.drawing, 1)
        left.addWidget(self.unknown)
        left.addLayout(pedal)
        self._manners = EvenGrid(len(_MANNERS))
        for button in self.buttons.values():
            self._manners.add(button)
        left.addWidget(self._manners)
        self._beside = QWidget()
        self._right = QVBoxLayout(self._beside)
        self._right.setContentsMargins(0, 0, gap, 0)
        self._right.setSpacing(theme.STEP + theme.STEP // 2)
        self._right.addWidget(Words("Show a cause", weight="bold"))
        self._right.addWidget(self.causes)
        self._right.addWidget(self.table)
        self._right.addWidget(self.more)
        self._right.addWidget(Words("Clearance over the pedal's way", weight="bold"))
        self._right.addWidget(self.curve, 1)
        self._scroll = Scroll(self._beside)
        self._scroll.viewport().installEventFilter(self)
        outer = QHBoxLayout(self)
        outer.setContentsMargins(gap, gap, theme.STEP, gap)
        outer.setSpacing(gap)
        outer.addLayout(left, 2)
        outer.addWidget(self._scroll, 1)

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        """Fit the figures into the room there is whenever it changes."""
        if watched is self._scroll.viewport() and event.type() == QEvent.Type.Resize:
            self._fit()
        return super().eventFilter(watched, event)

    def show_every_figure(self, every: bool) -> None:
        """Show all figures, or those that fit without scrolling."""
        self._every = every
        self._fit()

    def _fit(self) -> None:
        """Give the table the room that the rest leaves; what it leaves out has a button."""
        view, gaps = self._scroll.viewport().size(), self._right.contentsMargins()
        width = view.width() - gaps.left() - gaps.right()
        own = self.more.sizeHint().height() + self._right.spacing()
        rest = self._right.totalHeightForWidth(view.width()) - self.table.heightForWidth(width)
        if not self.more.isHidden():
            rest -= own
        room = view.height() - rest
        short = self.table.needed(width) > room and bool(self.table.every)
        self.table.set_room(room - own if short and not self._every else None)
        number = len(self.table.every)
        self.more.setText("Only as many as &fit" if self._every else f"All {number} &figures")
        self.more.setVisible(short)

    def _on_slider(self, value: int) -> None:
        self.drawing.set_pad(value / _SLIDER * self.drawing.travel)

    def _on_pad(self, pad: float) -> None:
        travel = self.drawing.travel
        with QSignalBlocker(self.slider):
            self.slider.setValue(round(_SLIDER * pad / travel) if travel else 0)
        self.table.show_figures(self.drawing.subject, pad)
        self.curve.set_pad(pad)


def _slider() -> QSlider:
    slider = QSlider(Qt.Orientation.Horizontal)
    slider.setRange(0, _SLIDER)
    slider.setSingleStep(_SLIDER // 60)
    slider.setPageStep(_SLIDER // 6)
    slider.setAccessibleName("Pedal")
    return slider


def _manner_button(text: str) -> QPushButton:
    button = QPushButton(text)
    button.setCheckable(True)
    return button
