"""Second page of the intake: the figures of the kit's own sheet, each optional."""

from math import ceil, log10

from PySide6.QtCore import QSignalBlocker, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from diagnose.kit_sheet import (
    SHEET_NAMES,
    Row,
    doubt,
    in_words,
    name_of,
    sheet_for,
    sheet_meaning,
    sheet_unit,
)
from diagnose.physics.figures import Parameter
from diagnose.physics.release_system import ReleaseSystem
from diagnose.physics.uncertainty import nearly_all
from diagnose.system import (
    Expected,
    arrangement,
    expected,
    figure_of,
    taken,
    untold,
    with_sheet,
)
from knowledge.release import OBSERVABLE_UNITS
from ui import theme
from ui.session import Session
from ui.views.intake_page import IntakePage
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words, hairline, heading

_LONGEST = 40  # characters of a figure in a case
_LEAST_LINES = 32  # of text that a window holds in which the sheet scrolls by itself
_TEXT = (
    "Type what the sheet or the vehicle’s book gives, with the tolerance if it has one. An empty "
    "field takes what stands beside it; 9 in 10 such kits lie in the brackets."
)
_OPEN = "Which clutch it is can’t be told yet. Answer on the set-up page (Esc): {facts}."
_NONE_FITS = (
    "No release system is known that is worked like this and has such a cover, so the figures of "
    "a sheet can’t be used. Look at both on the set-up page (Esc), or go on."
)
_READ = {
    "fork_free_travel": "Free travel at the fork end",
    "bearing_reserve": "Gap to the fingers, slave pushed back",
    "engagement_height": "Pedal above its stop where it bites",
    "fork_tip_travel": "Fork end, pedal to the floor",
    "bearing_travel": "Bearing, pedal to the floor",
}


class _Line(QWidget):
    """One line of the sheet: name, field, unit, what is taken otherwise; below, what is wrong."""

    def __init__(self, row: Row, usual: Parameter) -> None:
        super().__init__()
        self.row = row
        self.usual = usual.nominal
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        unit, meaning = sheet_unit(row.figure), sheet_meaning(row.figure)
        otherwise = f"else {_around(usual, unit)}"
        name = Words(row.name)
        name.setAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        self.field = Field()
        self.field.setMaxLength(_LONGEST)
        self.field.setAccessibleName(row.name)
        self.field.setAccessibleDescription(f"{meaning}; {unit or 'a ratio'}; {otherwise}")
        self.field.setToolTip(f"{meaning[0].upper()}{meaning[1:]}.")
        name.setBuddy(self.field)
        self.otherwise = Words(f"{unit}  {otherwise}".strip(), role="small", tone="muted")
        self.otherwise.setAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        self.said = Words("", role="small", tone="caution")
        self.said.hide()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(theme.STEP)
        grid.setVerticalSpacing(2)
        grid.addWidget(name, 0, 0)
        grid.addWidget(self.field, 0, 1)
        grid.addWidget(self.otherwise, 0, 2)
        grid.addWidget(self.said, 1, 0, 1, 3)
        for column, share in enumerate((11, 7, 9)):
            grid.setColumnStretch(column, share)

    @property
    def text(self) -> str:
        """What is typed."""
        return self.field.text().strip()

    def fill(self, text: str) -> None:
        """Show a text nobody types."""
        if text != self.text:
            with QSignalBlocker(self.field):
                self.field.setText(text)
                self.field.setCursorPosition(0)


class _Block(QWidget):
    """Things below each other; so wide that the words of a line keep together."""

    def __init__(self, em: int, gap: int) -> None:
        super().__init__()
        self._em = em
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.rows = QVBoxLayout(self)
        self.rows.setContentsMargins(0, 0, 0, 0)
        self.rows.setSpacing(gap)

    def sizeHint(self) -> QSize:
        return QSize(self._em * self.fontMetrics().height(), super().sizeHint().height())


class _Fact(_Block):
    """What a healthy clutch reads: the name, the value, and where nearly all lie."""

    def __init__(self, name: str) -> None:
        super().__init__(em=16, gap=0)
        self.value = Words("", role="lead", weight="bold")
        self.band = Words("", role="small", tone="muted")
        self.rows.addWidget(Words(name, role="small", tone="muted"))
        self.rows.addWidget(self.value)
        self.rows.addWidget(self.band)


class KitPage(IntakePage):
    """The lines of the sheet in their groups; below them, what the figures lead to."""

    def __init__(self, session: Session) -> None:
        super().__init__(session, "What does the kit’s sheet say?", _TEXT)
        self.lines: dict[str, _Line] = {}
        self.facts: dict[str, _Fact] = {}
        self._system: ReleaseSystem | None = None
        # What the case says as far as the fields show it; they may hold more while one types.
        self._kept: dict[str, str] | None = None
        self.unknown = Words("", tone="caution")
        self.go_on = QPushButton("&Go on without the sheet")
        self.go_on.setAutoDefault(True)  # Enter presses it
        self.go_on.clicked.connect(lambda _=False: self.passed.emit())
        self._sheet = _Block(em=23, gap=theme.STEP)
        self._scroll = Scroll(self._sheet)
        self._unused = Words("", role="small", tone="muted")
        self._leads_to = _Block(em=23, gap=theme.STEP // 2)
        self._lay_out()
        session.case_changed.connect(self._on_case_changed)

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        row.addWidget(self.go_on)
        row.addStretch(1)
        self.column.addWidget(self.unknown)
        self.column.addLayout(row)
        self.column.addWidget(self._scroll, 1)
        self.column.addWidget(self._unused)
        self.column.addWidget(self._leads_to)
        self.column.addStretch(0)

    def refresh(self) -> None:
        case = self.session.case
        system = arrangement(case.setup, case.facts)
        if system != self._system:
            self._arrange(system)
        kept = self._kept
        for figure, line in self.lines.items():
            text = case.kit.get(figure, "")
            if kept is None or text != kept.get(figure, ""):
                line.fill(text)
        self._kept = dict(case.kit)
        self._say_what_is_missing()
        self._weigh()
        self._make_room()

    def take_focus(self) -> None:
        first = next(iter(self.lines.values()), None)
        start = self.go_on if first is None else first.field
        start.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        self._keep("the kit’s sheet")

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Scroll the sheet by itself where that leaves some lines of it, else with the page."""
        lines = self.window().height() / self.fontMetrics().height()
        self._scroll.set_whole(lines < _LEAST_LINES)

    def _arrange(self, system: ReleaseSystem | None) -> None:
        """Make the lines anew for another arrangement."""
        had_focus = any(line.field.hasFocus() for line in self.lines.values())
        self._system = self._kept = None  # what goes away leaves nothing behind
        self.lines, self.facts = {}, {}
        for block in (self._sheet, self._leads_to):
            _empty(block.rows)
        for widget in (self._scroll, self._leads_to, self.text):
            widget.setVisible(system is not None)
        self._system = system
        if system is not None:
            self._add_lines(system)
        if had_focus:
            self.take_focus()

    def _add_lines(self, system: ReleaseSystem) -> None:
        any_kit = with_sheet(system, {})
        sides = EvenGrid(2, gap=4 * theme.STEP)
        for works_it in (True, False):
            side = _Block(em=23, gap=theme.STEP)
            for group in sheet_for(system):
                if group.works_it == works_it:
                    side.rows.addSpacing(theme.STEP if side.rows.count() else 0)
                    side.rows.addWidget(heading(group.title))
                    for row in group.rows:
                        line = self._made(row, figure_of(any_kit, row.figure))
                        side.rows.addWidget(line)
            side.rows.addStretch(1)
            sides.add(side)
        self._sheet.rows.addWidget(sides)
        self._sheet.rows.addStretch(1)
        facts = EvenGrid(3, gap=2 * theme.STEP)
        for found in expected(any_kit):
            self.facts[found.observable] = _Fact(_READ[found.observable])
            facts.add(self.facts[found.observable])
        self._leads_to.rows.addWidget(hairline())
        self._leads_to.rows.addWidget(heading("Healthy, by these figures"))
        self._leads_to.rows.addWidget(facts)

    def _made(self, row: Row, usual: Parameter) -> _Line:
        line = self.lines[row.figure] = _Line(row, usual)
        line.field.textChanged.connect(lambda _text: self._weigh())
        line.field.editingFinished.connect(lambda: self._keep(row.name.lower()))
        line.field.returnPressed.connect(lambda: self._go_on_from(line))
        return line

    def _go_on_from(self, line: _Line) -> None:
        """Enter goes to the next field; in an empty one, and in the last, to the next page."""
        order = list(self.lines.values())
        following = order.index(line) + 1
        if not line.text or following == len(order):
            self.passed.emit()
        else:
            order[following].field.setFocus(Qt.FocusReason.TabFocusReason)
            self._scroll.ensureWidgetVisible(order[following])

    def _typed(self) -> dict[str, str]:
        return {figure: line.text for figure, line in self.lines.items() if line.text}

    def _weigh(self) -> None:
        """Say what is wrong with what is typed, and what the rest leads to."""
        system = self._system
        if system is None:
            return
        good, wrong = taken(system, self._typed())
        for figure, line in self.lines.items():
            if figure in wrong:
                line.said.say(f"Not taken. {wrong[figure]}")
            else:
                line.said.say(doubt(figure, good[figure], line.usual) if figure in good else "")
        for found in expected(with_sheet(system, good)):
            value, band = _reading(found, self._unit_of(found.observable))
            self.facts[found.observable].value.setText(value)
            self.facts[found.observable].band.setText(band)

    def _unit_of(self, observable: str) -> str:
        """The unit it is read in at the vehicle."""
        read_in = (m.unit for m in self.session.base.measurements.values() if m.model == observable)
        return next(read_in, OBSERVABLE_UNITS[observable])

    def _keep(self, what: str) -> None:
        """Put into the case what is typed and can be; what was for another arrangement stays."""
        case, system = self.session.case, self._system
        if system is None or self._kept is None:
            return
        good, _ = taken(system, self._typed())
        kit = {figure: text for figure, text in case.kit.items() if figure not in self.lines}
        self._kept = kit | good
        self.session.change(case.with_kit(self._kept), what)

    def _say_what_is_missing(self) -> None:
        case, base = self.session.case, self.session.base
        known = self._system is not None
        self.go_on.setVisible(not known)
        facts = [base.facts[name].name.lower() for name in untold(case.facts) if name in base.facts]
        sentence = _OPEN.format(facts=", ".join(facts)) if facts else _NONE_FITS
        self.unknown.say("" if known else sentence)
        unused = [name_of(f).lower() for f in case.kit if f in SHEET_NAMES - set(self.lines)]
        kept = f"Kept, but not used with this set-up: {', '.join(unused)}."
        self._unused.say(kept if unused and known else "")

    def _on_case_changed(self) -> None:
        if not self.session.undoes and not self.session.redoes:
            self._kept = None  # another case has begun: nothing typed for the last one holds


def _around(usual: Parameter, unit: str) -> str:
    """Write a figure, with where nearly all kits lie if they differ."""
    value = in_words(usual.nominal, unit, digits=3)
    if not usual.uncertainty:
        return value
    low, high = (float(in_words(end, unit, digits=3)) for end in nearly_all(*usual))
    if not low < high:  # they differ by less than can be seen
        return value
    # No finer than the figure itself, but so fine that the ends differ.
    decimals = max(len(value.partition(".")[2]), ceil(-log10((high - low) / 2.0)))
    return f"{value} ({round(low, decimals):.15g} to {round(high, decimals):.15g})"


def _reading(found: Expected, unit: str) -> tuple[str, str]:
    """Write what a healthy clutch reads, and where nearly all of them lie."""
    bites = found.observable == "engagement_height"
    if bites and found.value < 0.0:
        return "never comes free", "These figures do not go together."
    # Nothing moves less than not at all.
    value, low, high = (max(0.0, number) for number in found[1:])
    ends = " to ".join(in_words(number, unit, digits=2) for number in (low, high))
    rare = "; some never come free" if bites and found.low < 0.0 else ""
    return f"{in_words(value, unit, digits=3)} {unit}", f"9 in 10 at {ends} {unit}{rare}"


def _empty(layout: QVBoxLayout) -> None:
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
