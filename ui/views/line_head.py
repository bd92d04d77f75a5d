"""Above the card of the Line room: how far the case is, and what can be handed on."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu, QPushButton, QVBoxLayout, QWidget

from diagnose.records.kept import State
from ui import theme
from ui.line.moments import sentence
from ui.session import Session
from ui.views.line_list import STATES
from ui.views.parts import quiet_button
from ui.widgets.even_grid import EvenGrid


class LineHead(QWidget):
    """State of the case, and the ways on.

    Signals
    -------
    state_wanted(State)
    follow_up_wanted, handover_wanted
    """

    state_wanted = Signal(object)
    follow_up_wanted = Signal()
    handover_wanted = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.state = QPushButton()
        theme.mark(self.state, kind="quiet")
        self.state.clicked.connect(lambda _=False: self.open_states())
        self.follow_up = quiet_button("List for the caller (J)", self.follow_up_wanted.emit)
        self.handover = quiet_button("Handover (M)", self.handover_wanted.emit)
        grid = EvenGrid(3, gap=theme.STEP)
        for button in (self.state, self.follow_up, self.handover):
            grid.add(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.STEP // 2)
        column.addWidget(grid)

    def refresh(self) -> None:
        """Show the case as the session has it."""
        kept = self._session.kept
        state = kept.state if kept is not None else State.OPEN
        self.state.setText(f"State: {state}")
        self.state.setAccessibleName(f"State of the case: {state}. Change it")
        self.state.setToolTip("Shift with the key of a state puts the case into it")

    def open_states(self) -> None:
        """Let the user say how far the case is."""
        menu = QMenu(self)
        present = self._session.kept.state if self._session.kept is not None else State.OPEN
        for state, (_, key) in STATES.items():
            if state is not None:
                action = menu.addAction(f"{sentence(state)} (Shift+{key})")
                action.setCheckable(True)
                action.setChecked(state is present)
                action.triggered.connect(lambda _=False, s=state: self.state_wanted.emit(s))
        menu.popup(self.state.mapToGlobal(self.state.rect().bottomLeft()))
