"""The map: causes, mechanisms, complaints and findings, with the light of the present case."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.map import CutSet, Key, Light, MapGraph, State, Way, cut_sets, light_of, shown
from knowledge.model import KnowledgeBase
from ui.jobs import Jobs
from ui.map_search import MapSearch
from ui.map_words import spoken
from ui.views.class_page import ClassPage, Told, case_of
from ui.views.map_panel import MapPanel
from ui.views.parts import quiet_button
from ui.views.search_box import Rows
from ui.widgets.even_grid import EvenGrid
from ui.widgets.map_view import MapView
from ui.widgets.text import Words

_WAITING = "Drawing the map …"
_LIT = "Bars: chance in this case; no bar: below 1 in 100"
_UNLIT = "No case is open: no chances are shown"
_FOLLOWED = {
    "both": "Only what has to do with",
    "up": "Only what leads to",
    "down": "Only what comes of",
}


class MapPage(ClassPage):
    """The map with its panel.

    Parameters
    ----------
    base : KnowledgeBase
    told : Case or Assessment, optional
        The present case: its set-up says what is possible, its chances are the light.
    jobs : Jobs, optional
        Where longer work is done; on the spot if left out.
    """

    def __init__(
        self,
        base: KnowledgeBase,
        told: Told = None,
        jobs: Jobs | None = None,
        parent: QWidget | None = None,
    ) -> None:
        self._search: MapSearch | None = None
        super().__init__(base, "&Find on the map ( / )", jobs, parent)
        self._graph: MapGraph | None = None
        self._light: Light | None = None
        self._state = State()
        self._wanted: Key | None = None
        self.view = MapView(self._spoken)
        self.panel = MapPanel()
        self._where = Words(_WAITING, role="lead", weight="bold")
        self._legend = Words("", role="small", tone="muted")
        self._lay_out()
        self._connect()
        self.set_case(told)

    @property
    def state(self) -> State:
        """What of the map is shown."""
        return self._state

    @property
    def graph(self) -> MapGraph | None:
        """The whole map; None until it is ready."""
        return self._graph

    def set_case(self, told: Told) -> None:
        """Show the map of a case, or of all set-ups; what is opened stays open."""
        base, facts = self._base, case_of(told).facts
        assessment = told if isinstance(told, Assessment) else None

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
        self._stand(left, self.panel)

    def _connect(self) -> None:
        self.view.marked.connect(self._on_marked)
        self.view.entered.connect(self._on_entered)
        self.view.follow_wanted.connect(self.follow)
        self.view.whole_wanted.connect(self.whole)
        self.panel.picked.connect(self._go_to)
        self.panel.follow_wanted.connect(self._on_follow)
        self.panel.record_wanted.connect(self._on_enter)
        self.panel.toggle_wanted.connect(self._on_enter)
        self.panel.cuts_wanted.connect(self._on_cuts)
        self.panel.look_wanted.connect(self._on_look)
        every = QShortcut(QKeySequence("A"), self.view, self.toggle_all)
        every.setContext(Qt.ShortcutContext.WidgetShortcut)

    def _on_failed(self, error: Exception) -> None:
        self._where.say(f"The map can’t be drawn: {error} Nothing of the case is lost.")

    def _on_ready(self, made: tuple[MapGraph, Light | None]) -> None:
        self._graph, self._light = made
        self._search = MapSearch(self._graph, self._light)
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

    def _found(self, typed: str) -> Rows:
        return [] if self._search is None else self._search.find(typed)

    def _on_picked(self, key: Key) -> None:
        self._go_to(key)

    def _on_key(self, key: Qt.Key) -> bool:
        done = {Qt.Key.Key_C: self._on_cuts, Qt.Key.Key_V: self._on_look}.get(key)
        if done is not None:
            done()
        return done is not None

    def _step_back(self) -> bool:
        followed = self._state.root is not None
        if followed:
            self.whole()
        return followed

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

    def _on_look(self) -> None:
        """Ask for what the marked cause looks like."""
        mark = self.view.mark
        if mark is not None and mark[0] == "causes":
            self.look_wanted.emit(mark[1])

    def _on_cuts(self) -> None:
        """List the cut sets of what is marked, or its links again."""
        mark, graph, light = self.view.mark, self._graph, self._light
        if self.panel.shows_cuts:
            self._on_marked(mark)
            return
        if graph is None or mark is None or mark not in graph.nodes or mark[0] == "causes":
            return
        self.panel.show_cuts(graph, None)

        def done(cuts: tuple[CutSet, ...]) -> None:
            if self.view.mark == mark and self._graph is graph:
                self.panel.show_cuts(graph, cuts)

        self._run("cuts", lambda: cut_sets(graph.base, graph.facts, mark[1], light), done)
