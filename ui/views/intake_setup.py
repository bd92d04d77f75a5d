"""First page of the intake: the set-up, from a preset, and each fact that is known."""

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from knowledge.model import Fact
from ui import messages, moves, theme
from ui.models.rows import KEY, RowsModel
from ui.money import money_text, read_money
from ui.session import Session
from ui.views.intake_page import IntakePage
from ui.widgets.choice_box import ChoiceBox
from ui.widgets.even_grid import EvenGrid
from ui.widgets.field import Field
from ui.widgets.labelled import Labelled
from ui.widgets.rows import Ranked, RowView
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words

_NONE = ""
_UNKNOWN = "don't know"


class _Presets(RowView):
    """The presets: Enter takes the marked one."""

    def __init__(self, page: "SetupPage") -> None:
        super().__init__("Set-up", least=12)
        self._page = page

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space}:
            self._page.take(self.currentIndex(), go_on=event.key() != Qt.Key.Key_Space)
        else:
            super().keyPressEvent(event)


class SetupPage(IntakePage):
    """Presets on the left, what is known of the vehicle on the right."""

    def __init__(self, session: Session) -> None:
        super().__init__(
            session,
            "What is it fitted to?",
            "Take the nearest, then correct what differs. What you don't know stays open.",
        )
        # What the case says as far as the fields show it; they may hold more while one types.
        self._kept_title = ""
        self._kept_hours: float | None = None
        self._kept_limit: float | None = None
        self._kept_labour: tuple[float | None, str] = (None, "")
        self.title = Field()
        self.title.setMaxLength(200)
        self.title.editingFinished.connect(self._on_title)
        self.presets = _Presets(self)
        self._model = RowsModel(self)
        self.presets.setModel(self._model)
        self.presets.clicked.connect(lambda index: self.take(index, go_on=False))
        self.hours = Field()
        self.hours.editingFinished.connect(self._on_hours)
        self.labour = Field()
        self.labour.editingFinished.connect(self._on_labour)
        self.limit = Field()
        self.limit.editingFinished.connect(self._on_limit)
        self._inner = next(i for i, lv in session.base.levels.items() if not lv.drivable)
        self._wrong: dict[str, str] = {}  # field -> what is wrong with what is typed there
        self._said = Words("", role="small", tone="caution")
        self.facts = {key: ChoiceBox() for key in session.base.facts}
        self._lay_out()

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(theme.STEP)
        ask = "A number, a name, a vehicle: whatever you find it by"
        left.addWidget(Labelled("Name of the case (may stay empty)", ask, self.title, lines=16))
        left.addWidget(Words("Set-up", wrap=False))
        left.addWidget(self.presets, 1)
        inside = QWidget()
        right = QVBoxLayout(inside)
        right.setContentsMargins(0, 0, theme.STEP, 0)
        grid = EvenGrid(2, gap=2 * theme.STEP)
        for key, choice in self.facts.items():
            fact = self.session.base.facts[key]
            choice.activated.connect(lambda _=0, k=key: self._on_fact(k))
            grid.add(Labelled(fact.name, fact.ask, choice, lines=14))
        own = "Your own hours for taking it out on this vehicle; the way back goes along with them"
        hours = Labelled("Hours to take this gearbox out", own, self.hours, lines=14)
        grid.add(hours)
        rate = "What an hour of work costs here, with its currency; may stay empty"
        grid.add(Labelled("Labour for an hour", rate, self.labour, lines=14))
        most = "How many hours the customer allows from now on; may stay empty"
        grid.add(Labelled("Customer's limit in hours", most, self.limit, lines=14))
        right.addWidget(grid)
        right.addWidget(self._said)
        right.addStretch(1)
        row = QHBoxLayout()
        row.setSpacing(4 * theme.STEP)
        row.addLayout(left, 3)
        row.addWidget(Scroll(inside, whole=True), 5, Qt.AlignmentFlag.AlignTop)
        self.column.addLayout(row, 1)

    def refresh(self) -> None:
        case, base = self.session.case, self.session.base
        if case.title != self._kept_title:
            self._kept_title = case.title
            self.title.setText(case.title)
            self.title.setCursorPosition(0)
        rows = [(_NONE, _preset("Not listed, or not known", "", chosen=case.setup is None))]
        for key, setup in base.setups.items():
            about = setup.about
            rows.append((key, _preset(setup.name, about, chosen=case.setup == key)))
        marked = self.presets.currentIndex().row()
        self._model.set_rows(rows)
        at = marked if marked >= 0 else self._model.row_of(case.setup or _NONE)
        self.presets.setCurrentIndex(self._model.index(max(0, at), 0))
        for key, choice in self.facts.items():
            _fill(choice, base.facts[key], tuple(case.facts.get(key, ())))
        own = case.hours.get(self._inner)
        if own != self._kept_hours:
            self._kept_hours = own
            self.hours.setText("" if own is None else f"{own:g}")
        self._refresh_money()
        setup_hours = base.setups[case.setup].hours if case.setup else {}
        usual = setup_hours.get(self._inner, base.levels[self._inner].down)
        self.hours.setPlaceholderText(f"{usual:g}, as for this set-up")

    def _refresh_money(self) -> None:
        """Show the rate and the limit, unless they are those that are typed there already."""
        case = self.session.case
        rate = (case.labour, case.currency)
        if rate != self._kept_labour:
            self._kept_labour = rate
            self.labour.setText(money_text(*rate))
        if case.limit != self._kept_limit:
            self._kept_limit = case.limit
            self.limit.setText("" if case.limit is None else f"{case.limit:g}")
        self.labour.setPlaceholderText("such as 85 EUR")
        self.limit.setPlaceholderText("no limit")

    def take_focus(self) -> None:
        self.presets.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        self._on_title()
        self._on_hours()
        self._on_labour()
        self._on_limit()

    def take(self, index: QModelIndex, *, go_on: bool) -> None:
        """Take a preset."""
        session = self.session
        setup = index.data(KEY) or None
        if setup != session.case.setup:
            session.change(moves.with_setup(session.base, session.case, setup), "the set-up")
        if go_on:
            self.passed.emit()

    def _on_fact(self, key: str) -> None:
        values = self.facts[key].currentData()
        after = moves.with_fact(self.session.case, key, tuple(values))
        self.session.change(after, self.session.base.facts[key].name.lower())

    def _on_title(self) -> None:
        title = self._kept_title = self.title.text().strip()
        self.session.change(moves.with_title(self.session.case, title), "the name")

    def _on_hours(self) -> None:
        hours = _hours(self.hours.text())
        if self._fits("hours", self.hours, messages.NO_HOURS, fits=hours is not None):
            self._kept_hours = hours
            after = moves.with_hours(self.session.case, self._inner, hours)
            self.session.change(after, "the hours")

    def _on_labour(self) -> None:
        rate = read_money(self.labour.text())
        if self._fits("labour", self.labour, messages.NO_MONEY, fits=rate is not None):
            case = self.session.case
            # The currency is that of the parts as well, and stays with them.
            self._kept_labour = rate or (None, case.currency if case.parts else "")
            after = moves.with_labour(case, *self._kept_labour)
            self.session.change(after, "the labour rate")

    def _on_limit(self) -> None:
        limit = _hours(self.limit.text())
        if self._fits("limit", self.limit, messages.NO_LIMIT, fits=limit is not None):
            self._kept_limit = limit
            self.session.change(moves.with_limit(self.session.case, limit), "the limit")

    def _fits(self, name: str, field: Field, sentence: str, *, fits: bool) -> bool:
        """Whether a field is empty or makes sense; what is wrong with the fields is said below."""
        right = fits or not field.text().strip()
        self._wrong[name] = "" if right else sentence
        self._said.setText(" ".join(said for said in self._wrong.values() if said))
        return right


def _preset(name: str, about: str, *, chosen: bool) -> Ranked:
    note, sign = ("chosen", "good") if chosen else ("", "")
    return Ranked(name, about, note=note, sign=sign)


def _hours(text: str) -> float | None:
    """Read hours; None if the text is empty or makes no sense."""
    try:
        hours = float(text.strip().removesuffix("h").replace(",", "."))
    except ValueError:
        return None
    return hours if 0.1 <= hours <= 100.0 else None


def _fill(choice: ChoiceBox, fact: Fact, values: tuple[str, ...]) -> None:
    """Offer the values of a fact, and mark those the case has."""
    offered: list[tuple[str, ...]] = [(), *((value,) for value in fact.values)]
    if len(values) > 1:
        offered.append(values)
    choice.clear()
    for known in offered:
        name = " or ".join(fact.values[v].name for v in known) or _UNKNOWN
        choice.addItem(name, known)
    choice.setCurrentIndex(offered.index(values))
