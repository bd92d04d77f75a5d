"""The map: causes, mechanisms, complaints and findings, with the light of the present case."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.map import CutSet, Key, Light, MapGraph, State, Way, cut_sets, light_of, shown
from knowledge.model import KnowledgeBase, Needs
from ui import theme
from ui.jobs import Job, Jobs
from ui.map_search import MapSearch
from ui.map_words import spoken
from ui.views.map_panel import MapPanel
from ui.views.parts import quiet_button
from ui.views.search_box import Rows, SearchBox
from ui.widgets.even_grid import EvenGrid
from ui.widgets.map_view import MapView
from ui.widgets.rows import Ranked
from ui.widgets.text import Words

_SHARES = (2, 1)  # of the map and the panel
_WAITING = "Drawing the map …"
_LIT = "Bars: chance in this case; no bar: below 1 in 100"
_UNLIT = "No case is open: no chances are shown"
_FOLLOWED = {
    "both": "Only what has to do with",
    "up": "Only what leads to",
    "down": "Only what comes of",
}


class MapPage(QWidget):
    """The map with its panel.

    Parameters
    ----------
    base : KnowledgeBase
    assessment : Assessment, optional
        The present case: its set-up says what is possible, its chances are the light.
    jobs : Jobs, optional
        Where longer work is done; on the spot if left out.

    Signals
    -------
    record_wanted(str, str)
        Kind and id of a record that is wanted in the handbook.
    left
        The user is done here.
    """

    record_wanted = Signal(str, str)
    left = Signal()

    def __init__(
        self,
        base: KnowledgeBase,
        assessment: Assessment | None = None,
        jobs: Jobs | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._base, self._jobs = base, jobs
        self._graph: MapGraph | None = None
        self._light: Light | None = None
        self._found: MapSearch | None = None
        self._state = State()
        self._wanted: Key | None = None
        self.view = MapView(self._spoken)
        self.panel = MapPanel()
        self.search = SearchBox("&Find on the map ( / )", self._find)
        self.search.refresh()
        self.search.view.setVisible(False)
        self._where = Words(_WAITING, role="lead", weight="bold")
        self._legend = Words("", role="small", tone="muted")
        self._lay_out()
        self._connect()
        self.set_case(assessment)

    @property
    def state(self) -> State:
        """What of the map is shown."""
        return self._state

    @property
    def graph(self) -> MapGraph | None:
        """The whole map; None until it is ready."""
        return self._graph

    def set_case(self, assessment: Assessment | None) -> None:
        """Show the map of a case, or of all set-ups; what is opened stays open."""
        base = self._base
        facts: Needs = assessment.case.facts if assessment is not None else {}

        def work() -> tuple[MapGraph, Light | None]:
            light = light_of(assessment) if assessment is not None else None
            return MapGraph.of(base, facts), light

        self._run("map", work, self._on_ready)

    def show_record(self, kind: str, name: str) -> None:
        """Mark a record on the map, coming from elsewhere; one that is not on it is passed over."""
        key = (kind, name)
        if self._graph is None:
            self._wanted = key
        elif key in self._graph.nodes:
            self._go_to(key)

    def take_focus(self) -> None:
        """Put the focus on the map."""
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() == Qt.Key.Key_Escape:
            if self.search.field.text():
                self.search.clear()
                self.take_focus()
            elif self._state.root is not None:
                self.whole()
            else:
                self.left.emit()
        elif event.key() == Qt.Key.Key_C and not event.modifiers():
            self._on_cuts()
        else:
            super().keyPressEvent(event)

    def follow(self, key: Key, way: Way) -> None:
        """Show only what leads to a record, what comes of it, or both."""
        if self._graph is not None and key in self._graph.nodes:
            self._state = self._state.following(key, way)
            self._show(key)

    def whole(self) -> None:
        """Show the whole map again, its groups closed but that of the marked record."""
        mark = self.view.mark
        self._state = State()
        if self._graph is not None and mark is not None and mark in self._graph.nodes:
            self._state = self._state.with_group(self._graph.nodes[mark].group, is_open=True)
        self._show(mark)

    def toggle(self, key: Key) -> None:
        """Open or close a group."""
        content = self.view.content
        if content is not None and key in content.boxes and content.boxes[key].is_group:
            is_open = not content.boxes[key].is_open
            self._state = self._state.with_group(key, is_open=is_open)
            self._show(key)

    def toggle_all(self) -> None:
        """Open all groups, or close them if all are open."""
        if self._graph is None:
            return
        every = frozenset(self._graph.groups)
        opened = self._state.opened >= every
        self._state = State(
            frozenset() if opened else every, frozenset(), self._state.root, self._state.way
        )
        self._show(self.view.mark)

    def _lay_out(self) -> None:
        self._all = quiet_button("Open all (A)", self.toggle_all)
        self._back = quiet_button("Whole map (W)", self.whole)
        buttons: list[QPushButton] = [
            self._back,
            self._all,
            quiet_button("Smaller (−)", self.view.zoom_out),
            quiet_button("Larger (+)", self.view.zoom_in),
            quiet_button("Fit (0)", self.view.fit),
        ]
        tools = EvenGrid(len(buttons), gap=2)
        for button in buttons:
            tools.add(button)
        left = QVBoxLayout()
        left.setSpacing(2)
        left.addWidget(self._where)
        left.addWidget(self._legend)
        left.addWidget(tools)
        left.addWidget(self.view, 1)
        right = QVBoxLayout()
        right.setSpacing(theme.STEP)
        right.addWidget(self.search)
        right.addWidget(self.panel, 1)
        row = QHBoxLayout(self)
        margin = 2 * theme.STEP
        row.setContentsMargins(margin, theme.STEP, margin, theme.STEP)
        row.setSpacing(2 * theme.STEP)
        row.addLayout(left, _SHARES[0])
        row.addLayout(right, _SHARES[1])

    def _connect(self) -> None:
        self.view.marked.connect(self._on_marked)
        self.view.entered.connect(self._on_entered)
        self.view.follow_wanted.connect(self.follow)
        self.view.whole_wanted.connect(self.whole)
        self.view.search_wanted.connect(self._focus_search)
        self.panel.picked.connect(self._go_to)
        self.panel.follow_wanted.connect(self._on_follow)
        self.panel.record_wanted.connect(self._on_enter)
        self.panel.toggle_wanted.connect(self._on_enter)
        self.panel.cuts_wanted.connect(self._on_cuts)
        self.search.picked.connect(self._on_picked)
        self.search.passed.connect(self.take_focus)
        self.search.field.textChanged.connect(self._on_typed)
        find = QShortcut(QKeySequence(QKeySequence.StandardKey.Find), self, self._focus_search)
        find.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        every = QShortcut(QKeySequence("A"), self.view, self.toggle_all)
        every.setContext(Qt.ShortcutContext.WidgetShortcut)

    def _run(self, slot: str, work: Callable[[], Any], done: Callable[[Any], None]) -> None:
        if self._jobs is None:
            done(work())
        else:
            self._jobs.start(slot, Job(work, done, self._on_failed))

    def _on_failed(self, error: Exception) -> None:
        self._where.say(f"The map can’t be drawn: {error} Nothing of the case is lost.")

    def _on_ready(self, made: tuple[MapGraph, Light | None]) -> None:
        self._graph, self._light = made
        self._found = MapSearch(self._graph, self._light)
        if self._state.root is not None and self._state.root not in self._graph.nodes:
            self._state = State()
        self._legend.setText(_UNLIT if self._light is None else _LIT)
        self._show(self.view.mark)
        if self._wanted is not None and self._wanted in self._graph.nodes:
            self._go_to(self._wanted)
        self._wanted = None

    def _show(self, mark: Key | None) -> None:
        """Show what the state asks for."""
        if self._graph is None:
            return
        content = shown(self._graph, self._state, self._light)
        if mark is not None and mark not in content.boxes:
            mark = content.stands_for.get(mark)
        self.view.show_content(content, mark)
        root = self._state.root
        named = f"{_FOLLOWED[self._state.way]} “{self._graph.nodes[root].name}”" if root else ""
        self._where.say(named or "What can bring what: the whole map")
        self._back.setEnabled(root is not None)
        every = self._state.opened >= frozenset(self._graph.groups)
        self._all.setText("Close all (A)" if every else "Open all (A)")
        self._on_marked(self.view.mark)

    def _go_to(self, key: Key) -> None:
        """Mark a record or group, opening what it is in."""
        if self._graph is None:
            return
        content = self.view.content
        if content is not None and key not in content.boxes and key not in content.stands_for:
            self._state = State(self._state.opened, self._state.closed)
        node = self._graph.nodes.get(key)
        if node is not None and (content is None or key not in content.boxes):
            self._state = self._state.with_group(node.group, is_open=True)
        self._show(key)
        self.view.set_mark(key)
        self.take_focus()

    def _spoken(self, key: Key) -> str:
        content = self.view.content
        return spoken(content, key) if content is not None and key in content.boxes else ""

    def _find(self, typed: str) -> Rows:
        # Nothing typed lists nothing, which is no failure to find.
        return [(None, Ranked("", ""))] if self._found is None else self._found.find(typed)

    def _focus_search(self) -> None:
        self.search.field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.search.field.selectAll()

    def _on_typed(self, typed: str) -> None:
        finding = bool(typed.strip())
        self.search.view.setVisible(finding)
        self.panel.setVisible(not finding)

    def _on_picked(self, key: Key | None, _shifted: bool) -> None:
        if key is not None:
            self._go_to(key)

    def _on_marked(self, key: Key | None) -> None:
        content = self.view.content
        if self._graph is None or content is None or key is None or key not in content.boxes:
            self.panel.show_nothing()
        else:
            self.panel.show_box(self._graph, content, key, self._light)

    def _on_entered(self, key: Key) -> None:
        if key[0] == "group":
            self.toggle(key)
        else:
            self.record_wanted.emit(*key)

    def _on_enter(self) -> None:
        if self.view.mark is not None:
            self._on_entered(self.view.mark)

    def _on_follow(self, way: Way) -> None:
        if self.view.mark is not None:
            self.follow(self.view.mark, way)
            self.take_focus()

    def _on_cuts(self) -> None:
        """List the cut sets of what is marked."""
        mark, graph, light = self.view.mark, self._graph, self._light
        if graph is None or mark is None or mark not in graph.nodes or mark[0] == "causes":
            return
        self.panel.show_cuts(graph, None)

        def done(cuts: tuple[CutSet, ...]) -> None:
            if self.view.mark == mark and self._graph is graph:
                self.panel.show_cuts(graph, cuts)

        self._run("cuts", lambda: cut_sets(graph.base, graph.facts, mark[1], light), done)
