"""The page of the cutaway: drawing, pedal, a cause to look at, the figures, the pedal curve."""

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.assess import Assessment
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
from ui.cause_search import CauseSearch
from ui.jobs import Jobs
from ui.views.class_page import ClassPage, Told, case_of
from ui.views.parts import quiet_button
from ui.views.search_box import Rows
from ui.widgets.cutaway import Cutaway, Manner
from ui.widgets.cutaway_curve import PedalCurve
from ui.widgets.cutaway_table import CutawayTable
from ui.widgets.even_grid import EvenGrid
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words
from ui.widgets.zero_slider import ZeroSlider

_UNKNOWN = (
    "The set-up is not known well enough to draw it. Say how the clutch is worked, whether the "
    "cover is pushed or pulled, and how many discs there are."
)
_UNMOVED = (
    "It moves none of these figures. It shows in what is heard, felt or seen; the part is marked."
)
_IN_INCHES, _IN_MM = "In inches (I)", "In mm (I)"
_MANNERS: tuple[tuple[Manner, str], ...] = (
    ("overlay", "&Overlaid"),
    ("beside", "Side &by side"),
    ("faulty", "Faulty on&ly"),
    ("healthy", "&Healthy only"),
)
_SLIDER = 1000  # steps of the pedal's whole way


class CutawayPage(ClassPage):
    """Shows the release system of a case, healthy and with a cause.

    Parameters
    ----------
    base : KnowledgeBase
    told : Case or Assessment, optional
        Of an assessment the leading cause is shown.
    jobs : Jobs, optional
        Not needed here: a drawing is done on the spot.
    parent : QWidget, optional

    Signals
    -------
    cause_changed(str)
        Id of the cause that is shown; empty for none.
    """

    cause_changed = Signal(str)

    def __init__(
        self,
        base: KnowledgeBase,
        told: Told = None,
        jobs: Jobs | None = None,
        parent: QWidget | None = None,
    ) -> None:
        self._search = CauseSearch(base)
        super().__init__(base, "&Show a cause ( / )", jobs, parent)
        self._system: ReleaseSystem | None = None
        self._effects: Effects | None = None
        self._kind = Kind()
        self._every = False  # whether all figures are wanted
        self._unit: Unit = "mm"
        self.causes: tuple[str, ...] = ()
        self.drawing = Cutaway()
        self.slider = _slider()
        self.buttons = {manner: _manner_button(text) for manner, text in _MANNERS}
        self.units = quiet_button(_IN_INCHES, self.change_unit)
        self.no_cause = quiet_button("No cause (N)", lambda: self.show_cause(""))
        self.record = quiet_button("In the handbook (H)", self._open_record)
        self.table = CutawayTable()
        self.more = quiet_button("", lambda: self.show_every_figure(not self._every))
        self.curve = PedalCurve()
        self.unmoved = Words(_UNMOVED, role="small", tone="muted")
        self.unknown = Words(_UNKNOWN, tone="muted")
        self._lay_out()
        self.slider.valueChanged.connect(self._on_slider)
        self.drawing.pad_changed.connect(self._on_pad)
        self.table.grown.connect(self._fit)
        for manner, button in self.buttons.items():
            button.clicked.connect(lambda _=False, m=manner: self.show_manner(m))
        self.set_case(told)
        self.show_manner("overlay")

    @property
    def cause(self) -> str:
        """Id of the cause that is shown; empty for none."""
        subject = self.drawing.subject
        return subject.fault.id if subject is not None and subject.fault is not None else ""

    def set_case(self, told: Told) -> None:
        """Show the release system of a case; of an assessment with its leading cause.

        Raises
        ------
        SheetError
            If a figure of the kit's sheet is unknown, or no quantity of the right kind.
        """
        case = case_of(told)
        system = self._system = system_of(case)
        self._effects = None
        faults: tuple[Fault, ...] = ()
        if system is not None:
            self._effects = effects_of_case(self._base, case.facts, system, case.kit)
            self._kind = kind_of(case.facts, system, case.kit)
            faults = faults_of(self._effects)
        self.causes = tuple(fault.id for fault in faults)
        self._search = CauseSearch(self._base, self.causes)
        self.unknown.setVisible(system is None)
        for widget in (self.drawing, self.slider, self.units, self.search, self._beside):
            widget.setVisible(system is not None)
        leading = None
        if self._effects is not None and isinstance(told, Assessment):
            leading = leading_fault(self._effects, (chance.id for chance in told.causes))
        self.show_cause("" if leading is None else leading.id)

    def show_cause(self, cause: str) -> None:
        """Show a cause beside the healthy system; none for an empty id.

        Raises
        ------
        KeyError
            If the set-up rules the cause out or the base does not hold it.
        """
        subject: Subject | None = None
        if self._system is not None:
            found = fault_of(self._effects, cause) if cause and self._effects else None
            subject = subject_of(self._system, self._kind, found)
        self.drawing.set_subject(subject)
        self.curve.show_subject(subject)
        fault = None if subject is None else subject.fault
        for widget in (self.no_cause, self.record, self._manners):
            widget.setVisible(fault is not None)
        self.unmoved.setVisible(fault is not None and not fault.shifts)
        self._on_pad(self.drawing.pad)
        self.cause_changed.emit(self.cause)

    def show_manner(self, manner: Manner) -> None:
        """Show healthy and faulty overlaid, side by side, or one of them."""
        self.drawing.set_manner(manner)
        for name, button in self.buttons.items():
            button.setChecked(name == manner)

    def change_unit(self) -> None:
        """Tell lengths in inches in place of millimetres, or the other way round."""
        self._unit = "in" if self._unit == "mm" else "mm"
        self.units.setText(_IN_INCHES if self._unit == "mm" else _IN_MM)
        self.drawing.set_unit(self._unit)
        self.table.set_unit(self._unit)

    def take_focus(self) -> None:
        """Put the focus on the pedal."""
        self.slider.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_key(self, key: Qt.Key) -> bool:
        done = {
            Qt.Key.Key_N: lambda: self.show_cause(""),
            Qt.Key.Key_H: self._open_record,
            Qt.Key.Key_I: self.change_unit,
        }.get(key)
        if done is not None:
            done()
        return done is not None

    def _open_record(self) -> None:
        if self.cause:
            self.record_wanted.emit("causes", self.cause)

    def _found(self, typed: str) -> Rows:
        return self._search.find(typed)

    def _on_picked(self, key: str) -> None:
        self.show_cause(key)
        self.take_focus()

    def _lay_out(self) -> None:
        gap = 2 * theme.STEP
        pedal = QHBoxLayout()
        pedal.setSpacing(gap)
        level = Qt.AlignmentFlag.AlignVCenter
        pedal.addWidget(Words("Pedal up", tone="muted", wrap=False), 0, level)
        pedal.addWidget(self.slider, 1)
        pedal.addWidget(Words("on the floor", tone="muted", wrap=False), 0, level)
        pedal.addWidget(self.units)
        left = QVBoxLayout()
        left.setSpacing(theme.STEP)
        left.addWidget(self.drawing, 1)
        left.addWidget(self.unknown)
        left.addLayout(pedal)
        self._manners = EvenGrid(len(_MANNERS))
        for button in self.buttons.values():
            self._manners.add(button)
        left.addWidget(self._manners)
        offers = QHBoxLayout()
        offers.addWidget(self.no_cause)
        offers.addWidget(self.record)
        offers.addStretch(1)
        told = QWidget()
        self._right = QVBoxLayout(told)
        self._right.setContentsMargins(0, 0, theme.STEP, 0)
        self._right.setSpacing(theme.STEP)
        self._right.addLayout(offers)
        self._right.addWidget(self.unmoved)
        self._right.addWidget(self.table)
        self._right.addWidget(self.more)
        self._right.addWidget(Words("Clearance over the pedal's way", weight="bold"))
        self._right.addWidget(self.curve, 1)
        self._beside = Scroll(told)
        self._viewport = self._beside.viewport()
        self._viewport.installEventFilter(self)
        self._stand(left, self._beside)

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        """Fit the figures into the room there is whenever it changes."""
        if event.type() == QEvent.Type.Resize and watched is self._viewport:
            self._fit()
        return False

    def show_every_figure(self, every: bool) -> None:
        """Show all figures, or those that fit without scrolling."""
        self._every = every
        self._fit()

    def _fit(self) -> None:
        """Give the table the room that the rest leaves; what it leaves out has a button."""
        view, gaps = self._beside.viewport().size(), self._right.contentsMargins()
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


def _slider() -> ZeroSlider:
    slider = ZeroSlider()
    slider.setRange(0, _SLIDER)
    slider.setSingleStep(_SLIDER // 60)
    slider.setPageStep(_SLIDER // 6)
    slider.setAccessibleName("Pedal")
    return slider


def _manner_button(text: str) -> QPushButton:
    button = QPushButton(text)
    button.setCheckable(True)
    return button
