"""The room for teaching: cutaway, map, what if and practice, each made when it is first shown."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, Protocol, get_args

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from ui import theme
from ui.jobs import Jobs
from ui.settings import Places
from ui.widgets.text import Words

if TYPE_CHECKING:  # loaded once a page is shown
    from diagnose.assess import Assessment
    from diagnose.case import Case
    from ui.session import Session
    from ui.views.class_page import ClassPage
    from ui.views.cutaway_page import CutawayPage
    from ui.views.map_page import MapPage
    from ui.views.practice_page import PracticePage
    from ui.views.what_if_page import WhatIfPage

Page = Literal["cutaway", "map", "what if", "practice"]
PAGES: tuple[Page, ...] = get_args(Page)
_NAMES = {"cutaway": "Cutaway", "map": "Map", "what if": "What if", "practice": "Practice"}
_NOT_DRAWN = "“{name}” shows nothing that can be drawn, so this is the likeliest cause that does."
_NONE_DRAWN = "None of the likelier causes shows anything that can be drawn."


class Host(Protocol):
    """What the room needs of the window."""

    jobs: Jobs
    session: "Session | None"
    places: Places

    def say(self, sentence: str) -> None:
        """Say something in passing."""

    def show_trouble(self, sentence: str, next_step: str) -> None:
        """Say what went wrong until it is put right."""


class ClassRoom(QWidget):
    """Four pages on the case of the window.

    Parameters
    ----------
    host : Host
    parent : QWidget, optional

    Signals
    -------
    record_wanted(str, str)
        Kind and id of a record that is wanted in the handbook.
    left
        The user is done here.
    """

    record_wanted = Signal(str, str)
    left = Signal()

    def __init__(self, host: Host, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._host = host
        self._name: Page = "cutaway"
        self._shown: dict[Page, Assessment | Case] = {}  # of which case each page tells
        self.cutaway: CutawayPage | None = None
        self.map: MapPage | None = None
        self.what_if: WhatIfPage | None = None
        self.practice: PracticePage | None = None
        self.stack = QStackedWidget()
        self.note = Words("", role="small", tone="muted")
        self.buttons: dict[Page, QPushButton] = {}
        self._group = QButtonGroup(self)
        self._lay_out()

    @property
    def name(self) -> Page:
        """The page that is shown."""
        return self._name

    def page(self, name: Page) -> QWidget | None:
        """Give a page; None if it has not been shown yet."""
        return self.practice if name == "practice" else self._on_the_case()[name]

    def _on_the_case(self) -> "dict[Page, ClassPage | None]":
        """Give the pages that follow the case of the window."""
        return {"cutaway": self.cutaway, "map": self.map, "what if": self.what_if}

    def show_page(self, name: Page) -> None:
        """Show a page on the case as it is now."""
        session = self._host.session
        if session is None:
            return
        self._name = name
        for other, button in self.buttons.items():
            button.setChecked(other == name)
            here = ", shown now" if other == name else ""
            button.setAccessibleName(f"{_NAMES[other]}{here}")
        page = self.page(name)
        if page is None:
            page = _MAKERS[name](self, session)
            self._shown[name] = _told(session)
            self.stack.addWidget(page)
        self.stack.setCurrentWidget(page)
        self.follow()
        self.take_page_focus()

    def follow(self) -> None:
        """Show the case as it is now on the page that is seen."""
        session = self._host.session
        if session is None:
            return
        case = session.case.title or ("this case" if session.case.entries else "")
        self.note.setText(f"Of {case}" if case and self._name != "practice" else "")
        page, now = self._on_the_case().get(self._name), _told(session)
        if page is not None and self._shown.get(self._name) is not now:
            self._shown[self._name] = now
            page.set_case(now)

    def show_cause(self, cause: str | None) -> None:
        """Show what a cause would look like in the cutaway; the leading one if it is None."""
        self.show_page("cutaway")
        page, session = self.cutaway, self._host.session
        if page is None or session is None:
            return
        if cause is None or cause not in session.base.causes:
            if not page.cause:
                self._host.say(_NONE_DRAWN)
        elif cause in page.causes:
            page.show_cause(cause)
        else:
            name = session.base.causes[cause].name
            self._host.say(_NOT_DRAWN.format(name=name) if page.cause else _NONE_DRAWN)

    def show_record(self, kind: str, name: str) -> None:
        """Show a handbook's record: a cause as what if where that is seen, all else on the map."""
        if self._name == "what if" and kind == "causes":
            self.show_page("what if")
            if self.what_if is not None:
                self.what_if.show_record(kind, name)
            return
        self.show_page("map")
        if self.map is not None:
            self.map.show_record(kind, name)

    def take_focus(self) -> None:
        """Put the focus on the page that is shown, made if it was not."""
        self.show_page(self._name)

    def take_page_focus(self) -> None:
        """Put the focus where a person starts on the page that is shown."""
        page = self.practice if self._name == "practice" else self._on_the_case()[self._name]
        if page is not None:
            page.take_focus()

    def leave(self) -> None:
        """The window closes: what an exercise still owes is kept."""
        if self.practice is not None:
            self.practice.leave()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        row.setContentsMargins(2 * theme.STEP, 0, 2 * theme.STEP, 0)
        row.setSpacing(theme.STEP)
        for i, name in enumerate(PAGES, 1):
            button = QPushButton(_NAMES[name])
            button.setCheckable(True)
            button.setToolTip(f"Alt+{i}")
            theme.mark(button, kind="quiet")
            button.clicked.connect(self._shower(name))
            self._group.addButton(button)
            self.buttons[name] = button
            row.addWidget(button)
            shortcut = QShortcut(QKeySequence(f"Alt+{i}"), self, self._shower(name))
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        row.addSpacing(theme.STEP)
        row.addWidget(Words("Alt+1 to 4", role="small", tone="muted", wrap=False))
        self.note.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.note, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, theme.STEP // 2, 0, 0)
        column.setSpacing(0)
        column.addLayout(row)
        column.addWidget(self.stack, 1)

    def _shower(self, name: Page) -> Callable[[], None]:
        return lambda: self.show_page(name)

    # -- pages, their modules loaded with the first of a kind

    def _made_cutaway(self, session: "Session") -> QWidget:
        from ui.views.cutaway_page import CutawayPage

        self.cutaway = CutawayPage(session.base, _told(session), self._host.jobs)
        return self._joined(self.cutaway)

    def _made_map(self, session: "Session") -> QWidget:
        from ui.views.map_page import MapPage

        self.map = MapPage(session.base, _told(session), self._host.jobs)
        self.map.look_wanted.connect(self.show_cause)
        return self._joined(self.map)

    def _made_what_if(self, session: "Session") -> QWidget:
        from ui.views.what_if_page import WhatIfPage

        self.what_if = WhatIfPage(session.base, _told(session), self._host.jobs)
        return self._joined(self.what_if)

    def _made_practice(self, session: "Session") -> QWidget:
        from ui.views.practice_page import PracticePage

        page = self.practice = PracticePage(session.base, self._host.jobs, self._host.places.data)
        page.said.connect(self._host.say)
        page.trouble.connect(self._host.show_trouble)
        return self._joined(page)

    def _joined(self, page: "ClassPage | PracticePage") -> QWidget:
        page.record_wanted.connect(self.record_wanted)
        page.left.connect(self.left)
        return page


def _told(session: "Session") -> "Assessment | Case":
    """Give what the pages are told of the case: what is thought of it, as soon as that is there."""
    return session.case if session.standing is None else session.standing.assessment


_MAKERS: dict[Page, Callable[..., QWidget]] = {
    "cutaway": ClassRoom._made_cutaway,
    "map": ClassRoom._made_map,
    "what if": ClassRoom._made_what_if,
    "practice": ClassRoom._made_practice,
}
