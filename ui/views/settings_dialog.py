"""The settings: who sits here, where the cases are, learning, and a shop's own knowledge."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QWidget

from diagnose.errors import PullOnceError
from ui import double_click, theme
from ui.jobs import Job, Jobs
from ui.models.rows import KEY, RowsModel
from ui.settings import Places, Settings, author
from ui.store_choice import outranks, shown, tried
from ui.views.parts import labelled, quiet_button
from ui.widgets.field import Field
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.rows import Ranked, RowView
from ui.widgets.switch import Switch
from ui.widgets.text import Words, heading

if TYPE_CHECKING:
    from ui.store_choice import Tried

_PASSWORD = "A password in the address is kept in the settings file as you typed it."
_LEARNING = (
    "Learning weighs the words of the knowledge anew by what your closed cases came to. It is off "
    "until you switch it on, and the shipped words are never lost."
)
_FOLDERS = "Folders laid over the shipped knowledge, in this order. Delete takes one out."
_NO_FOLDERS = "None: the shipped knowledge is used as it is."
_DOUBLE_CLICK = "Done at once, for you alone on this machine; the other settings wait for Take."
_OPEN_BY, _NO_LONGER = "Open them by &double click", "No longer open them by &double click"
_FROM_NOW = "Who sits here holds from now on."
_NEXT_START = "{what} from the next start of the program on."
_WAIT = "Trying it …"


class SettingsDialog(PanelDialog):
    """Shows the settings; they are tried before they are taken.

    Parameters
    ----------
    settings : Settings
    places : Places
    jobs : Jobs
    parent : QWidget

    Signals
    -------
    taken(object, str)
        The new `Settings`, and what to say.
    """

    taken = Signal(object, str)

    def __init__(self, settings: Settings, places: Places, jobs: Jobs, parent: QWidget) -> None:
        super().__init__("Settings", parent)
        self._settings, self._places, self._jobs = settings, places, jobs
        self._folders = list(settings.overlays)
        self.ask_file: Callable[[], str] = self._ask_file
        self.ask_folder: Callable[[], str] = self._ask_folder
        self.column.addWidget(Words("Settings", role="title", weight="bold"))
        self._ask_who()
        self._ask_where()
        self._ask_learning()
        self._ask_folders()
        self._ask_double_click()
        self.said = Words("")
        self.said.say("")
        self.column.addWidget(self.said)
        self.column.addStretch(1)
        self.buttons.addStretch(1)
        cancel = self.add_button("Leave all as it is (Esc)")
        cancel.clicked.connect(self.reject)
        self.take = self.add_button("&Take these settings", kind="primary")
        self.take.clicked.connect(lambda _=False: self._try())
        self._show_folders()
        self.who.setFocus(Qt.FocusReason.OtherFocusReason)

    def _ask_who(self) -> None:
        self.who = Field()
        self.who.setText(self._settings.author)
        self.who.setMaxLength(80)
        self.who.setPlaceholderText(author(Settings()))
        about = "Stands beside every answer that is given here"
        self.column.addWidget(labelled("&Who sits here", about, self.who, lines=20))

    def _ask_where(self) -> None:
        self.where = Field()
        self.where.setText(shown(self._settings.store))
        self.where.setPlaceholderText(str(self._places.store))
        about = "A file, or the address of a server: postgresql://name@server/store"
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        field = labelled("Where the &cases are kept", about, self.where, lines=30)
        row.addWidget(field, 1)
        self._choose = quiet_button("C&hoose a file …", self._on_choose)
        row.addWidget(self._choose, 0, Qt.AlignmentFlag.AlignBottom)
        self.column.addLayout(row)
        outranked = outranks()
        if outranked:
            self.where.setEnabled(False)
            self._choose.setEnabled(False)
        self.outranked = Words(outranked, tone="caution")
        self.outranked.say(outranked)
        self.column.addWidget(self.outranked)
        self.column.addWidget(Words(f"{about}. {_PASSWORD}", role="small", tone="muted"))

    def _ask_learning(self) -> None:
        self.learning = Switch(
            "Learning from closed cases", (("off", "O&ff"), ("on", "O&n")), most=2
        )
        self.learning.set_value("on" if self._settings.learning else "off")
        self.column.addWidget(self.learning)
        self.column.addWidget(Words(_LEARNING, role="small", tone="muted"))

    def _ask_folders(self) -> None:
        self.column.addWidget(heading("The shop's own knowledge"))
        self._about_folders = Words(_FOLDERS, tone="muted")
        self.column.addWidget(self._about_folders)
        self._model = RowsModel(self)
        self.folders = _Folders()
        self.folders.setModel(self._model)
        self.folders.taken_out.connect(self._take_out)
        self.column.addWidget(self.folders)
        row = QHBoxLayout()
        row.addWidget(quiet_button("&Add a folder …", self._on_add))
        row.addStretch(1)
        self.column.addLayout(row)

    def _ask_double_click(self) -> None:
        self.column.addWidget(heading("Case files"))
        self._by_double_click = double_click.is_on()
        self.double_click = quiet_button("", self._on_double_click)
        row = QHBoxLayout()
        row.addWidget(self.double_click)
        row.addStretch(1)
        self.column.addLayout(row)
        self.column.addWidget(Words(_DOUBLE_CLICK, role="small", tone="muted"))
        self._show_double_click()

    def _show_double_click(self) -> None:
        self.double_click.setText(_NO_LONGER if self._by_double_click else _OPEN_BY)

    def _on_double_click(self) -> None:
        on = not self._by_double_click
        self.double_click.setEnabled(False)
        self._say(_WAIT, tone="muted")
        self._jobs.start(
            "double click",
            Job(
                lambda: double_click.switch(on=on),
                self._on_switched,
                self._on_not_switched,
            ),
        )

    def _on_switched(self, said: str) -> None:
        self._by_double_click = double_click.is_on()
        self._show_double_click()
        self.double_click.setEnabled(True)
        self._say(said, tone="muted")

    def _on_not_switched(self, error: Exception) -> None:
        self.double_click.setEnabled(True)
        if not isinstance(error, PullOnceError):
            raise error
        self._say(str(error), tone="stop")

    def _show_folders(self) -> None:
        rows = [(name, Ranked(Path(name).name, name)) for name in self._folders]
        self._model.set_rows(rows)
        self.folders.setVisible(bool(rows))
        self.folders.setFixedHeight(max(1, self.folders.content_height()))
        self._about_folders.setText(_FOLDERS if rows else _NO_FOLDERS)

    def _take_out(self, name: str) -> None:
        self._folders.remove(name)
        self._show_folders()

    def _on_add(self) -> None:
        chosen = self.ask_folder()
        if chosen and chosen not in self._folders:
            self._folders.append(chosen)
            self._show_folders()

    def _on_choose(self) -> None:
        chosen = self.ask_file()
        if chosen:
            self.where.setText(chosen)

    def done(self, result: int, /) -> None:
        """Close it; what is still being tried is of no matter then."""
        self._jobs.drop("settings")
        self._jobs.drop("double click")  # it is done all the same; nobody is told any more
        super().done(result)

    def _try(self) -> None:
        """Try what is new; it is taken once that went well."""
        typed, folders = self.where.text(), tuple(self._folders)
        where = None if typed.strip() == shown(self._settings.store) else typed
        changed = folders != self._settings.overlays
        self._say(_WAIT, tone="muted")
        self.take.setEnabled(False)
        self._jobs.start(
            "settings",
            Job(
                lambda: _tried(where, folders if changed else ()),
                self._on_tried,
                self._on_refused,
            ),
        )

    def _on_tried(self, found: "Tried | None") -> None:
        old = self._settings
        new = old.with_(
            author=self.who.text().strip(),
            store=old.store if found is None else found.url,
            learning=self.learning.value == "on",
            overlays=tuple(self._folders),
        )
        lines = [_FROM_NOW] if new.author != old.author else []
        lines += [] if found is None else [found.said]
        names = (("store", "The store"), ("learning", "Learning"), ("overlays", "The folders"))
        late = [text for name, text in names if getattr(new, name) != getattr(old, name)]
        if late:
            verb = "holds" if late in (["The store"], ["Learning"]) else "hold"
            what = " and ".join((*late[:-1], late[-1].lower())) if len(late) > 1 else late[0]
            lines.append(_NEXT_START.format(what=f"{what} {verb}"))
        self.accept()
        self.taken.emit(new, " ".join(lines))

    def _on_refused(self, error: Exception) -> None:
        self.take.setEnabled(True)
        if not isinstance(error, PullOnceError):
            raise error
        self._say(f"{error.sentence} {error.next_step} Nothing was changed.", tone="stop")

    def _say(self, text: str, *, tone: str) -> None:
        self.said.set_tone(tone)
        self.said.say(text)
        self.fit()

    def _ask_file(self) -> str:
        start = self.where.text() or str(self._places.store.parent)
        kinds = "Stores (*.sqlite);;All files (*)"
        options = QFileDialog.Option.DontConfirmOverwrite
        return QFileDialog.getSaveFileName(
            self, "The file of the store", start, kinds, options=options
        )[0]

    def _ask_folder(self) -> str:
        return QFileDialog.getExistingDirectory(self, "A folder of knowledge", str(Path.home()))


def _tried(where: str | None, folders: tuple[str, ...]) -> "Tried | None":
    """Try the store and the folders that are new.

    Raises
    ------
    PullOnceError
        If one of them can't be used.
    """
    if folders:
        from knowledge.load import KnowledgeError, load_base

        try:
            load_base(*(Path(name) for name in folders))
        except KnowledgeError as error:
            lines = str(error).splitlines()
            raise PullOnceError(
                f"The folders do not fit the knowledge. {lines[0] if lines else ''}",
                "Mend them, or take the folder out.",
            ) from error
    return None if where is None else tried(where)


class _Folders(RowView):
    """The folders; Delete takes one out."""

    taken_out = Signal(str)

    def __init__(self) -> None:
        super().__init__("The shop's own folders", least=1)

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        index = self.currentIndex()
        if Qt.Key(event.key()) in {Qt.Key.Key_Delete, Qt.Key.Key_Backspace} and index.isValid():
            self.taken_out.emit(index.data(KEY))
        else:
            super().keyPressEvent(event)
