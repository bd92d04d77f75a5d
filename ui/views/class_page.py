"""A page of the room for teaching: a picture, and beside it a search and what is told of it."""

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QLayout, QVBoxLayout, QWidget

from diagnose.assess import Assessment
from diagnose.case import Case
from knowledge.model import KnowledgeBase
from ui import theme
from ui.jobs import Job, Jobs
from ui.views.search_box import Rows, SearchBox
from ui.widgets.rows import Ranked

_SHARES = (2, 1)  # of the picture, and of what is beside it
Told = Case | Assessment | None  # a case, with what is thought of it, or none


def case_of(told: Told) -> Case:
    """Give the case that a page is told; one of which nothing is known if there is none."""
    return told.case if isinstance(told, Assessment) else told or Case()


class ClassPage(QWidget):
    """What the pages of the room have in common; each shows the present case in its own way.

    As long as something is typed, what is found stands in the place of what is told.

    Parameters
    ----------
    base : KnowledgeBase
    label : str
        Of the search, with its mnemonic.
    jobs : Jobs, optional
        Where longer work is done; on the spot if left out.

    Signals
    -------
    record_wanted(str, str)
        Kind and id of a record that is wanted in the handbook.
    look_wanted(str)
        Id of a cause that is wanted in the cutaway.
    left
        The user is done here.
    """

    record_wanted = Signal(str, str)
    look_wanted = Signal(str)
    left = Signal()

    def __init__(
        self,
        base: KnowledgeBase,
        label: str,
        jobs: Jobs | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._base, self._jobs = base, jobs
        self.search = SearchBox(label, self._rows)
        self.search.refresh()
        self.search.view.setVisible(False)
        self.search.picked.connect(self._on_row)
        self.search.passed.connect(self.take_focus)
        find = QShortcut(QKeySequence(QKeySequence.StandardKey.Find), self, self.focus_search)
        find.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)

    def set_case(self, told: Told) -> None:
        """Show another case, or what holds for any."""
        raise NotImplementedError

    def take_focus(self) -> None:
        """Put the focus where a person starts."""
        self.focus_search()

    def focus_search(self) -> None:
        """Put the focus into the search."""
        self.search.field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.search.field.selectAll()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        key = event.key()
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if key == Qt.Key.Key_Escape:
            if self.search.field.text():
                self.search.clear()
                self.take_focus()
            elif not self._step_back():
                self.left.emit()
        elif key == Qt.Key.Key_Slash and plain:
            self.focus_search()
        elif not (plain and self._on_key(Qt.Key(key))):
            super().keyPressEvent(event)

    def _on_key(self, key: Qt.Key) -> bool:
        """Do what a key does on this page; False if it does nothing."""
        return False

    def _step_back(self) -> bool:
        """Take back the last step on this page; False if there is none, and the user leaves."""
        return False

    def _found(self, typed: str) -> Rows:
        """Give what a typed text speaks of, best first."""
        raise NotImplementedError

    def _on_picked(self, key: Any) -> None:
        """Take what was picked from what was found."""
        raise NotImplementedError

    def _stand(self, picture: QLayout, told: QWidget) -> None:
        """Put the picture on the left, the search and what is told on the right."""
        beside = QVBoxLayout()
        beside.setSpacing(theme.STEP)
        beside.addWidget(self.search)
        beside.addWidget(told, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(2 * theme.STEP, theme.STEP, 2 * theme.STEP, theme.STEP)
        row.setSpacing(2 * theme.STEP)
        row.addLayout(picture, _SHARES[0])
        row.addLayout(beside, _SHARES[1])

        def on_typed(typed: str) -> None:
            finding = bool(typed.strip())
            self.search.view.setVisible(finding)
            told.setVisible(not finding)

        self.search.field.textChanged.connect(on_typed)

    def _run(self, slot: str, work: Callable[[], Any], done: Callable[[Any], None]) -> None:
        """Do longer work, and then what comes after it in the window."""
        if self._jobs is None:
            done(work())
        else:
            self._jobs.start(slot, Job(work, done, self._on_failed))

    def _on_failed(self, error: Exception) -> None:
        """Say that longer work has failed."""
        raise NotImplementedError

    def _on_row(self, key: Any, _shifted: bool) -> None:
        if key is not None:
            self._on_picked(key)

    def _rows(self, typed: str) -> Rows:
        # Nothing typed lists nothing, which is no failure to find.
        return self._found(typed) if typed.strip() else [(None, Ranked("", ""))]
