"""Beside the map: the record that is marked, its links both ways, and its cut sets."""

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.map import CutSet, Key, Light, MapGraph, Shown
from ui import theme
from ui.map_words import KINDS, chance_line, cut_head, cut_name, cut_words, link_words, many
from ui.models.rows import KEY, RowsModel
from ui.views.parts import quiet_button, sentence
from ui.widgets.rows import Ranked, RowView
from ui.widgets.share_bar import ShareBar
from ui.widgets.text import Words, heading

_NOTHING = "Nothing is marked. Press an arrow key on the map, or click a box."
_CUTS, _LINKS = "Cut sets (C)", "Links again (C)"
_CUTS_WAIT = "Working out the cut sets …"


class LinkList(QWidget):
    """A headed list of records; Enter or a click goes to one.

    Signals
    -------
    picked(object)
        Key of a record.
    """

    picked = Signal(object)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.head = heading(name)
        self.note = Words("", role="small", tone="muted")
        self.note.setVisible(False)
        self.model = RowsModel(self)
        self.view = RowView(name, least=2)
        self.view.setModel(self.model)
        self.view.clicked.connect(self._pick)
        self.view.activated.connect(self._pick)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.head)
        column.addWidget(self.note)
        column.addWidget(self.view, 1)

    def show_rows(self, name: str, rows: Sequence[tuple[object, Ranked]], note: str = "") -> None:
        """Show other rows under another head."""
        self.head.setText(name.upper())
        self.view.setAccessibleName(name)
        self.note.say(note)
        self.model.set_rows(rows)
        self.view.setCurrentIndex(QModelIndex())
        self.view.scrollToTop()

    def _pick(self, index: QModelIndex) -> None:
        key = index.data(KEY)
        if key is not None:
            self.picked.emit(key)


class MapPanel(QWidget):
    """What is known of the marked box.

    Signals
    -------
    picked(object)
        Key of a record or group that is wanted on the map.
    follow_wanted(str)
    record_wanted, toggle_wanted, cuts_wanted, look_wanted
    """

    picked = Signal(object)
    follow_wanted = Signal(str)
    record_wanted = Signal()
    toggle_wanted = Signal()
    cuts_wanted = Signal()
    look_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._kind = Words("", role="small", tone="muted", weight="bold")
        self._title = Words("", role="lead", weight="bold")
        self._chance = Words("")
        self._bar = QHBoxLayout()
        self._about = Words(_NOTHING, role="small", tone="muted")
        self.into = LinkList("Comes from")
        self.out_of = LinkList("Leads to")
        for some in (self.into, self.out_of):
            some.picked.connect(self.picked)
        self.up = quiet_button("Its causes (U)", lambda: self.follow_wanted.emit("up"))
        self.down = quiet_button("What it brings (D)", lambda: self.follow_wanted.emit("down"))
        self.record = quiet_button("In the handbook (Enter)", self.record_wanted.emit)
        self.toggle = quiet_button("Open the group (Enter)", self.toggle_wanted.emit)
        self.cuts = quiet_button(_CUTS, self.cuts_wanted.emit)
        self.look = quiet_button("In the cutaway (V)", self.look_wanted.emit)
        for button in self._buttons():
            button.setParent(self)  # one without a parent would be a window of its own
        self._grid = QGridLayout()
        self._lay_out()
        self.show_nothing()

    def _lay_out(self) -> None:
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(2)
        self._grid.setColumnStretch(2, 1)
        light = QHBoxLayout()
        light.setSpacing(theme.STEP)
        light.addLayout(self._bar)
        light.addWidget(self._chance, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        column.addWidget(self._kind)
        column.addWidget(self._title)
        column.addLayout(light)
        column.addWidget(self._about)
        column.addLayout(self._grid)
        column.addWidget(self.into, 1)
        column.addWidget(self.out_of, 1)

    @property
    def shows_cuts(self) -> bool:
        """Whether cut sets stand in the place of the links."""
        return self.cuts.text() == _LINKS

    def show_nothing(self) -> None:
        """Say what to do while nothing is marked."""
        self._kind.say("")
        self._title.say("")
        self._set_chance("", None)
        self._about.say(_NOTHING)
        for some in (self.into, self.out_of, *self._buttons()):
            some.setVisible(False)

    def _buttons(self) -> tuple[QPushButton, ...]:
        return self.up, self.down, self.record, self.toggle, self.cuts, self.look

    def show_box(
        self, graph: MapGraph, content: Shown, key: Key, light: Light | None = None
    ) -> None:
        """Show a box of the map: a record with all its links, a group with those that are shown."""
        box = content.boxes[key]
        group = box.is_group
        self._kind.say(
            sentence(f"group of {many(box.count, KINDS[box.kind])}" if group else KINDS[box.kind])
        )
        self._title.say(sentence(box.name))
        self._set_chance(sentence(chance_line(box)), box.chance)
        self._about.say("")
        self.cuts.setText(_CUTS)
        self.toggle.setText(f"{'Close' if box.is_open else 'Open'} the group (Enter)")
        behind = bool(content.into.get(key)) if group else bool(graph.into.get(key))
        beyond = bool(content.out_of.get(key)) if group else bool(graph.out_of.get(key))
        self._offer(
            (self.toggle, group),
            (self.up, behind and not group),
            (self.down, beyond and not group),
            (self.record, not group),
            (self.cuts, not group and box.kind != "causes"),
            (self.look, not group and box.kind == "causes"),
        )
        into = self._rows(graph, content, key, light, back=True)
        out_of = self._rows(graph, content, key, light, back=False)
        for some, name, rows in (
            (self.into, "Comes from", into),
            (self.out_of, "Leads to", out_of),
        ):
            some.setVisible(bool(rows))
            some.show_rows(f"{name} ({len(rows)})", rows)

    def _offer(self, *offers: tuple[QPushButton, bool]) -> None:
        """Show the buttons that make sense, two in a row."""
        offered = [button for button, sensible in offers if sensible]
        for button in self._buttons():
            self._grid.removeWidget(button)
            button.setVisible(button in offered)
        for i, button in enumerate(offered):
            self._grid.addWidget(button, i // 2, i % 2, Qt.AlignmentFlag.AlignLeft)

    def show_cuts(self, graph: MapGraph, cuts: Sequence[CutSet] | None) -> None:
        """Show cut sets in place of the links that lead to what is marked; None: still to come."""
        self.cuts.setText(_LINKS)
        self.into.setVisible(True)
        self.out_of.setVisible(False)
        if cuts is None:
            self.into.show_rows("Cut sets", (), _CUTS_WAIT)
            return
        rows = [
            (
                ("causes", cut.causes[0]) if cut.causes else None,
                Ranked(
                    sentence(cut_name(graph, cut)),
                    cut_words(graph, cut),
                    cut.p if cut.now is None else cut.now,
                    str(number),
                ),
            )
            for number, cut in enumerate(cuts, 1)
        ]
        self.into.show_rows(f"Minimal cut sets ({len(cuts)})", rows, cut_head(cuts))

    def _rows(
        self, graph: MapGraph, content: Shown, key: Key, light: Light | None, *, back: bool
    ) -> list[tuple[object, Ranked]]:
        box = content.boxes[key]
        if box.is_group:
            bonds = (content.into if back else content.out_of).get(key, ())
            ends = [(bond.tail if back else bond.head, link_words(bond)) for bond in bonds]
            return [
                (end, Ranked(sentence(content.boxes[end].name), words, content.boxes[end].chance))
                for end, words in ends
            ]
        links = (graph.into if back else graph.out_of).get(key, ())
        rows: list[tuple[object, Ranked]] = []
        for link in links:
            end = link.tail if back else link.head
            lit = None if light is None else light.chance.get(end, 0.0)
            rows.append((end, Ranked(sentence(graph.nodes[end].name), link_words(link), lit)))
        return rows

    def _set_chance(self, words: str, share: float | None) -> None:
        while self._bar.count():
            item = self._bar.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        if share is not None:
            self._bar.addWidget(ShareBar(share))
        self._chance.say(words)
