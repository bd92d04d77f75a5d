"""What else could be done from here: a list on the card, or a menu where there is no room."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMenu, QWidget

from diagnose.planning.record import Advice, Option
from knowledge.model import KnowledgeBase
from ui.models.options import OptionModel
from ui.models.rows import KEY
from ui.views.panels import EntryList
from ui.views.parts import quiet_button
from ui.widgets.text import heading

_NAME = "Others from here (O)"


class OthersFromHere:
    """The list with its head, and the button that opens the menu instead.

    Parameters
    ----------
    card : QWidget
        What they stand on.
    choose : callable
        Takes kind and id of the step that is picked.
    """

    def __init__(self, card: QWidget, choose: Callable[[str, str], None]) -> None:
        self._card = card
        self._choose = choose
        self._model = OptionModel(card)
        self.head = heading(_NAME)
        self.view = EntryList("Others from here")
        self.view.setModel(self._model)
        self.view.opened.connect(lambda index: choose(*index.data(KEY)))
        self.button = quiet_button(_NAME, self.open)

    def show(self, base: KnowledgeBase, advice: Advice, shown: Option | None) -> None:
        """Show what is advised beside the step on the card."""
        self._model.show(base, advice, shown)

    def make_room(self, *, asks: bool, roomy: bool) -> None:
        """Show the list where there is room for it, else the button; neither without a step."""
        several = asks and self._model.rowCount() > 0
        self.head.setVisible(several and roomy)
        self.view.setVisible(several and roomy)
        self.button.setVisible(several and not roomy)

    def open(self) -> None:
        """Go to the list, or open the menu."""
        if self.view.isVisible():
            self.view.setFocus(Qt.FocusReason.ShortcutFocusReason)
            return
        menu = QMenu(self._card)
        for row in range(self._model.rowCount()):
            index = self._model.index(row, 0)
            action = menu.addAction(str(index.data()).replace("&", "&&"))
            key = index.data(KEY)
            action.triggered.connect(lambda _=False, key=key: self._choose(*key))
        menu.popup(self.button.mapToGlobal(self.button.rect().bottomLeft()))
