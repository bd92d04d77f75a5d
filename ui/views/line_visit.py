"""The Line room as the window has it: made when it is first shown, with its keys."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QStackedWidget, QWidget

from ui.jobs import Jobs

if TYPE_CHECKING:  # loaded once the room is shown
    from diagnose.records.kept import State
    from ui.session import Session
    from ui.views.line_room import LineRoom

_STATES = ("open", "caller", "parts", "closed")


class Host(Protocol):
    """What the room needs of the window."""

    jobs: Jobs
    session: "Session | None"
    stack: QStackedWidget

    def switch_to(self, case_id: str) -> None:
        """Open a case of the store."""
        ...

    def close_case(self) -> None:
        """Ask how the case ended, and close it."""
        ...

    def forget_worked_out(self) -> None:
        """Forget what was worked out for the case before."""
        ...


class LineVisit(QObject):
    """Shows the Line room and hands the window's keys on to it.

    Parameters
    ----------
    host : Host
    parent : QWidget
    """

    def __init__(self, host: Host, parent: QWidget) -> None:
        super().__init__(parent)
        self._host = host
        self.page: LineRoom | None = None

    @property
    def open(self) -> bool:
        """Whether the room is shown."""
        return self.page is not None and self._host.stack.currentWidget() is self.page

    def show(self) -> None:
        """Show the room, made if it was not."""
        session = self._host.session
        if session is None:
            return
        if self.page is None:
            from ui.views.line_room import LineRoom

            self.page = LineRoom(session, self._host.jobs)
            self.page.case_wanted.connect(self._host.switch_to)
            self.page.started.connect(self._host.forget_worked_out)
            self.page.closing_wanted.connect(self._host.close_case)
            self._host.stack.addWidget(self.page)
        self._host.stack.setCurrentWidget(self.page)
        self.page.take_focus()

    def handlers(self) -> Mapping[str, Callable[[], None]]:
        """Give what each action of the room does."""
        return {
            "search": lambda: self._act(lambda p: p.list.take_focus()),
            "next_case": lambda: self._act(lambda p: p.list.go(1)),
            "case_above": lambda: self._act(lambda p: p.list.go(-1)),
            "case_before": lambda: self._act(lambda p: p.go_back()),
            "follow_up": lambda: self._act(lambda p: p.papers.open_follow_up()),
            "handover": lambda: self._act(lambda p: p.papers.open_handover()),
            "show_all": lambda: self._act(lambda p: p.list.show_state(None)),
            **{f"show_{name}": self._showing(name) for name in _STATES},
            **{f"set_{name}": self._setting(name) for name in _STATES},
        }

    def _showing(self, name: str) -> Callable[[], None]:
        return lambda: self._act(lambda p: p.list.show_state(_state(name)))

    def _setting(self, name: str) -> Callable[[], None]:
        return lambda: self._act(lambda p: p.set_state(_state(name)))

    def _act(self, act: "Callable[[LineRoom], None]") -> None:
        if self.page is not None and self.open:
            act(self.page)


def _state(name: str) -> "State":
    from diagnose.records.kept import State

    states = (State.OPEN, State.WAITING_CALLER, State.WAITING_PARTS, State.CLOSED)
    return dict(zip(_STATES, states, strict=True))[name]
