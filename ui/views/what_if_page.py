"""What if: causes to choose and figures to slide, and what a driver and a gauge would notice."""

from collections.abc import Iterable, Mapping

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from diagnose.sliders import Slider
from diagnose.what_if import WhatIf
from knowledge.model import KnowledgeBase, Needs
from ui import theme
from ui.cause_search import CauseSearch
from ui.jobs import Jobs
from ui.models.rows import KEY, RowsModel
from ui.views.class_page import ClassPage, Told, case_of
from ui.views.parts import quiet_button
from ui.views.search_box import Rows
from ui.views.what_if_slide import SlideRow
from ui.what_if_rows import chance_strips, reading_strips
from ui.widgets.rows import RowView
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words
from ui.widgets.what_if_strips import StripList

_PICTURE = (5, 6)  # of chances and readings
_NONE = (
    "Nothing is wrong yet: this is the vehicle without a fault. Choose a cause, or slide a figure."
)
_NO_SYSTEM = (
    "Which release system it is can’t be told yet, so only what stands alone is predicted, and "
    "nothing can be slid. Tell the set-up of the case first."
)
_IF_JUST_THIS = "If just this is wrong. The thin mark and the outline are without a fault."
_WAITING = "Working out the set-up …"


class WhatIfPage(ClassPage):
    """Causes and sliders on one side, what follows from them on the other.

    Parameters
    ----------
    base : KnowledgeBase
    told : Case or Assessment, optional
        Its set-up and kit are taken, and nothing of what was found; any set-up if left out.
    jobs : Jobs, optional
        Where a set-up is worked out; on the spot if left out.
    """

    def __init__(
        self,
        base: KnowledgeBase,
        told: Told = None,
        jobs: Jobs | None = None,
        parent: QWidget | None = None,
    ) -> None:
        self._search = CauseSearch(base)
        super().__init__(base, "&Add a cause ( / )", jobs, parent)
        self._fitted: tuple[Needs, Mapping[str, str]] | None = None
        self._what_if: WhatIf | None = None
        self._causes: tuple[str, ...] = ()
        self._slid: dict[str, float] = {}
        self._kind = "complaints"
        self._title = Words("What if …", role="lead", weight="bold")
        self._about = Words("", role="small", tone="muted")
        self.chances = StripList("Chance of each complaint")
        self.readings = StripList("What a gauge would show")
        self.model = RowsModel(self)
        self.chosen = RowView("Chosen causes", least=2)
        self.chosen.setModel(self.model)
        self._sliders: dict[str, SlideRow] = {}
        self._lay_out()
        self._connect()
        self.set_case(told)

    @property
    def causes(self) -> tuple[str, ...]:
        """Ids of the chosen causes."""
        return self._causes

    @property
    def slid(self) -> dict[str, float]:
        """How far each slider is moved, by its id."""
        return dict(self._slid)

    def set_case(self, told: Told) -> None:
        """Take the set-up of a case; the same one keeps what is slid.

        Chosen causes that another set-up rules out are dropped.
        """
        base, case = self._base, case_of(told)
        fitted = dict(case.facts), dict(case.kit)
        if fitted == self._fitted:
            return
        self._fitted = fitted
        self._about.say(_WAITING)

        def work() -> tuple[WhatIf, tuple[Slider, ...]]:
            what_if = WhatIf.of(base, case)
            return what_if, what_if.sliders()

        self._run("what if", work, self._on_ready)

    def set_causes(self, causes: Iterable[str]) -> None:
        """Choose just these causes; those the set-up rules out are passed over."""
        self._causes = tuple(dict.fromkeys(causes))
        if self._what_if is not None:
            allowed = self._what_if.causes
            self._causes = tuple(name for name in self._causes if name in allowed)
            self._refresh()

    def slide(self, name: str, amount: float) -> None:
        """Slide something, in its unit."""
        if name in self._sliders:
            self._sliders[name].set_amount(amount)

    def show_record(self, kind: str, name: str) -> None:
        """Choose a cause, coming from elsewhere; other records are passed over."""
        if kind == "causes" and name not in self._causes:
            self.set_causes((*self._causes, name))

    def clear(self) -> None:
        """Choose nothing, and slide everything back."""
        self._causes, self._slid = (), {}
        for row in self._sliders.values():
            row.set_amount(0.0)
        self._refresh()

    def show_findings(self) -> None:
        """Show findings in place of complaints, or the other way round."""
        self._kind = "findings" if self._kind == "complaints" else "complaints"
        self._refresh()

    def _on_key(self, key: Qt.Key) -> bool:
        if key == Qt.Key.Key_F:
            self.show_findings()
        return key == Qt.Key.Key_F

    def eventFilter(self, watched: QObject, event: QEvent, /) -> bool:
        """In the list of chosen causes Delete takes one away, and H opens the handbook."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            name = self.chosen.currentIndex().data(KEY)
            if name is not None and event.key() in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace}:
                self._drop(name)
                return True
            if name is not None and event.key() == Qt.Key.Key_H:
                self.record_wanted.emit("causes", name)
                return True
        return super().eventFilter(watched, event)

    def _lay_out(self) -> None:
        self._swap = quiet_button("Findings instead (F)", self.show_findings)
        self._clear = quiet_button("Start again", self.clear)
        self._chosen_head = _head("Chosen (Del takes one away, H: handbook)")
        self._chances_head = _head("Complaints")
        head = QHBoxLayout()
        head.addWidget(self._title, 1)
        head.addWidget(self._swap)
        first, second = QVBoxLayout(), QVBoxLayout()
        for column, title, strips in (
            (first, self._chances_head, self.chances),
            (second, _head("Readings, 9 in 10 within the band"), self.readings),
        ):
            column.setSpacing(2)
            column.addWidget(title)
            column.addWidget(strips, 1)
        picture = QHBoxLayout()
        picture.setSpacing(2 * theme.STEP)
        picture.addLayout(first, _PICTURE[0])
        picture.addLayout(second, _PICTURE[1])
        left = QVBoxLayout()
        left.setSpacing(theme.STEP // 2)
        left.addLayout(head)
        left.addWidget(self._about)
        left.addLayout(picture, 1)
        self._stand(left, self._side())

    def _side(self) -> QWidget:
        """The causes and the sliders."""
        sliders = QWidget()
        self._column = QVBoxLayout(sliders)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(theme.STEP)
        self._column.addStretch(1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self._clear)
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        column.addWidget(self._chosen_head)
        column.addWidget(self.chosen, 2)
        column.addWidget(_head("Slide a figure"))
        column.addWidget(Scroll(sliders), 5)
        column.addLayout(foot)
        return side

    def _connect(self) -> None:
        self.chosen.installEventFilter(self)
        self.chosen.doubleClicked.connect(lambda index: self._drop(index.data(KEY)))

    def _on_failed(self, error: Exception) -> None:
        self._about.say(f"It can’t be worked out: {error} Nothing of the case is lost.")

    def _on_ready(self, made: tuple[WhatIf, tuple[Slider, ...]]) -> None:
        self._what_if, sliders = made
        allowed = self._what_if.causes
        self._search = CauseSearch(self._base, allowed)
        self._causes = tuple(name for name in self._causes if name in allowed)
        self._slid = {}
        for row in self._sliders.values():
            row.hide()
            row.deleteLater()
        self._sliders = {}
        for slider in sliders:
            row = SlideRow(slider)
            row.slid.connect(self._on_slid)
            self._column.insertWidget(self._column.count() - 1, row)
            self._sliders[slider.id] = row
        self._refresh()

    def _found(self, typed: str) -> Rows:
        return self._search.find(typed, self._causes)

    def _on_picked(self, key: str) -> None:
        self.set_causes((*self._causes, key))

    def _drop(self, name: str | None) -> None:
        self.set_causes(cause for cause in self._causes if cause != name)

    def _on_slid(self, name: str, amount: float) -> None:
        self._slid = {**self._slid, name: amount}
        self._refresh()

    def _refresh(self) -> None:
        """Show what follows from what is chosen."""
        what_if, base = self._what_if, self._base
        # With nothing chosen the sliders have all the room.
        for widget in (self._chosen_head, self.chosen):
            widget.setVisible(bool(self._causes))
        if what_if is None:
            return
        chances = what_if.chances(self._causes, self._slid)
        kinds = base.complaints if self._kind == "complaints" else base.findings
        self.chances.show_rows(
            f"Chance of each of the {self._kind}",
            chance_strips([c for c in chances if c.id in kinds]),
        )
        self.readings.show_rows(
            "What a gauge would show", reading_strips(what_if.readings(self._causes, self._slid))
        )
        self._chances_head.setText(self._kind.upper())
        other = "Complaints" if self._kind == "findings" else "Findings"
        self._swap.setText(f"{other} instead (F)")
        self.model.set_rows([(name, self._search.row(name)) for name in self._causes])
        self._tell()

    def _tell(self) -> None:
        moved = any(self._slid.values())
        said = [self._base.causes[name].name for name in self._causes]
        said += [row.bar.accessibleName() for n, row in self._sliders.items() if self._slid.get(n)]
        self._title.say(f"What if: {' + '.join(said)}" if said else "What if …")
        about = "" if self._causes or moved else _NONE
        if not self._sliders:
            about = f"{about} {_NO_SYSTEM}".strip()
        elif about == "":
            about = _IF_JUST_THIS
        self._about.say(about)
        self._clear.setEnabled(bool(said))


def _head(text: str) -> Words:
    """Give the head of a panel, broken where the panel is narrow."""
    return Words(text.upper(), role="small", tone="muted", weight="bold")
