"""Two people have answered one question differently: both answers, and who gave them when.

Nothing is overwritten: the answer that came first counts until somebody chooses.
"""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from ui import theme
from ui.line.conflicts import Both, both
from ui.session import Session
from ui.widgets.sign import Sign
from ui.widgets.text import Words


class ConflictNotice(QWidget):
    """Shows the first conflict of the case that nobody has settled; hidden if there is none.

    Parameters
    ----------
    session : Session
    """

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.both: Both | None = None
        self._about = Words("", weight="bold")
        self._first, self._first_who = Words(""), Words("", role="small", tone="muted")
        self._other, self._other_who = Words(""), Words("", role="small", tone="muted")
        self.keep_first = QPushButton("Keep this (F3)")
        self.keep_other = QPushButton("Take this (F4)")
        self.keep_first.clicked.connect(lambda _=False: self.settle(other=False))
        self.keep_other.clicked.connect(lambda _=False: self.settle(other=True))
        self._box = QFrame()
        theme.mark(self._box, kind="notice", tone="caution")
        self._lay_out()
        session.saved_changed.connect(self.refresh)
        session.case_changed.connect(self.refresh)
        self.hide()

    def _lay_out(self) -> None:
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        for widget in (self, self._box):
            widget.setSizePolicy(policy)
        sign = Sign("caution")
        theme.mark(sign, tone="caution", role="body")
        name = Words("Two answers", tone="caution", weight="bold", wrap=False)
        head = QHBoxLayout()
        head.setSpacing(theme.STEP)
        head.addWidget(sign, 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(name, 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self._about, 1)
        sides = QGridLayout()
        sides.setHorizontalSpacing(3 * theme.STEP)
        sides.setVerticalSpacing(2)
        for column, (said, who, button) in enumerate(
            (
                (self._first, self._first_who, self.keep_first),
                (self._other, self._other_who, self.keep_other),
            )
        ):
            sides.addWidget(who, 0, 2 * column)
            sides.addWidget(said, 1, 2 * column)
            sides.addWidget(button, 0, 2 * column + 1, 2, 1, Qt.AlignmentFlag.AlignVCenter)
            sides.setColumnStretch(2 * column, 1)
        inner = QVBoxLayout(self._box)
        inner.setContentsMargins(12, theme.STEP, 12, theme.STEP)
        inner.setSpacing(theme.STEP // 2)
        inner.addLayout(head)
        inner.addLayout(sides)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(3 * theme.STEP, theme.STEP, 3 * theme.STEP, theme.STEP)
        outer.addWidget(self._box)

    def refresh(self) -> None:
        """Show what is not settled in the case as the store has it."""
        kept = self._session.kept
        pending = kept.conflicts if kept is not None else ()
        now = self._session.now()
        self.both = both(self._session.base, pending[0], now) if pending else None
        self.setVisible(self.both is not None)
        if self.both is None:
            return
        about, first, other = self.both.about, self.both.first, self.both.other
        more = f" (1 of {len(pending)} to settle)" if len(pending) > 1 else ""
        self._about.setText(f"{about}{more}")
        self._first.setText(first.said)
        self._first_who.setText(f"{first.who}; it counts so far")
        self._other.setText(other.said)
        self._other_who.setText(other.who)
        self.keep_first.setAccessibleName(f"Keep {first.said}, {first.who}")
        self.keep_other.setAccessibleName(f"Take {other.said}, {other.who}")
        self._box.setAccessibleName(
            f"Two answers: {about}. {first.said}, {first.who}; or {other.said}, {other.who}"
        )

    def settle(self, *, other: bool) -> None:
        """Say which of the two counts; the case follows."""
        if self.both is not None:
            self._session.settle(self.both.id, other=other)
