"""A text to hand on: the list for the caller, and the note for whoever takes the case over."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QFileDialog, QWidget

from ui.line.handover import LONGEST
from ui.views.line_print import ask_and_print, write_text
from ui.widgets.field import TextField
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.text import Words

_FILTER = "Text (*.txt);;PDF (*.pdf)"
_LINES = 18


class PaperDialog(PanelDialog):
    """Shows a text that can be edited, and hands it on as it then is.

    Parameters
    ----------
    title, tip, text : str
    parent : QWidget
    keeps : bool
        Whether it can be kept with the case.

    Signals
    -------
    kept(str)
        The text is to be kept with the case.
    """

    kept = Signal(str)

    def __init__(
        self, title: str, tip: str, text: str, parent: QWidget, *, keeps: bool = False
    ) -> None:
        super().__init__(title, parent)
        self.ask_path: Callable[[], str] = self._ask_path
        self.print_text: Callable[[str, QWidget], bool] = ask_and_print
        self.column.addWidget(Words(title, role="title", weight="bold"))
        self.column.addWidget(Words(tip, tone="muted"))
        self.text = TextField()
        self.text.setAccessibleName(title)
        self.text.setPlainText(text)
        self.text.setMinimumHeight(_LINES * self.fontMetrics().height())
        self.column.addWidget(self.text, 1)
        self.said = Words("", tone="muted")
        self.column.addWidget(self.said)
        self.said.hide()
        self._keeps = keeps
        if keeps:
            keep = self.add_button("&Keep with the case", kind="primary")
            keep.clicked.connect(lambda _=False: self.keep())
        copy = self.add_button("&Copy", kind="" if keeps else "primary")
        copy.clicked.connect(lambda _=False: self.copy())
        self.add_button("&Print …").clicked.connect(lambda _=False: self.print())
        self.add_button("&Save …").clicked.connect(lambda _=False: self.save())
        self.buttons.addStretch(1)
        close = self.add_button("C&lose (Esc)")
        close.clicked.connect(self.reject)
        self.text.setFocus()

    def copy(self) -> None:
        """Put the text on the clipboard."""
        QGuiApplication.clipboard().setText(self.text.toPlainText())
        self.said.say("Copied.")

    def print(self) -> None:
        """Send the text to a printer."""
        if self.print_text(self.text.toPlainText(), self):
            self.said.say("Sent to the printer.")

    def save(self) -> None:
        """Write the text to a file: text, or a PDF by its name."""
        chosen = self.ask_path()
        if not chosen:
            return
        path = Path(chosen)
        path = path if path.suffix else path.with_suffix(".txt")
        try:
            write_text(path, self.text.toPlainText())
        except OSError as error:
            reason = error.strerror or str(error)
            self.said.say(f"It could not be written to {path}: {reason}. Choose another place.")
        else:
            self.said.say(f"Written to {path}.")

    def keep(self) -> None:
        """Keep the text with the case, if it is not too long for that."""
        text = self.text.toPlainText().strip()
        if len(text) > LONGEST:
            over = len(text) - LONGEST
            self.said.say(f"The case takes {LONGEST} letters: take {over} away.")
            return
        self.accept()
        self.kept.emit(text)

    def _wanted(self, line: int) -> QSize:
        return QSize(48 * line, super()._wanted(line).height())

    def _ask_path(self) -> str:
        return QFileDialog.getSaveFileName(self, "Save", str(Path.home()), _FILTER)[0]
