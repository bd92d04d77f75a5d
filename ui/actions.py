"""Every action of the window, declared once; the help page is made of it."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QWidget


@dataclass(frozen=True)
class Declared:
    """One action; the first of its keys is shown in the menu."""

    text: str
    keys: tuple[str, ...]
    tip: str
    group: str


ACTIONS: Mapping[str, Declared] = {
    "new": Declared("New case", ("Ctrl+N",), "Start with an empty case", "Case"),
    "open": Declared("Open a case …", ("Ctrl+O",), "Open a case file", "Case"),
    "save_as": Declared("Save a copy as …", ("Ctrl+Shift+S",), "One file to send or keep", "Case"),
    "cases": Declared("All cases", ("Ctrl+L",), "The list of cases on this machine", "Case"),
    "quit": Declared("Quit", ("Ctrl+Q",), "Everything is saved already", "Case"),
    "vehicle": Declared("Vehicle", ("Ctrl+1",), "The case at the vehicle", "Rooms"),
    "line": Declared("Line", ("Ctrl+2",), "Many cases, on the phone", "Rooms"),
    "class": Declared("Class", ("Ctrl+3",), "For teaching", "Rooms"),
    "picture": Declared(
        "What it looks like",
        ("Ctrl+D",),
        "The marked or the leading cause in the cutaway, and back",
        "Rooms",
    ),
    "on_map": Declared(
        "In the class", ("Ctrl+M",), "This handbook page's record on the map or as what if", "Rooms"
    ),
    "search": Declared("Search the cases", ("Ctrl+F", "/"), "By any words in them", "Line"),
    "next_case": Declared("Next case", ("F8", "Alt+Down"), "Further down in the list", "Line"),
    "case_above": Declared("Previous case", ("F7", "Alt+Up"), "Further up in the list", "Line"),
    "case_before": Declared("Case before", ("F9",), "The one on the screen before this", "Line"),
    **{
        f"show_{name}": Declared(f"Show {words}", (key,), "In the list of cases", "Line")
        for name, words, key in (
            ("all", "all cases", "U"),
            ("open", "open cases", "Q"),
            ("caller", "those waiting for the caller", "K"),
            ("parts", "those waiting for parts", "P"),
            ("closed", "closed cases", "Z"),
        )
    },
    **{
        f"set_{name}": Declared(text, (f"Shift+{key}",), "How far this case is", "Line")
        for name, text, key in (
            ("open", "Open again", "Q"),
            ("caller", "Waits for the caller", "K"),
            ("parts", "Waits for parts", "P"),
            ("closed", "Close the case", "Z"),
        )
    },
    "follow_up": Declared("List for the caller", ("J",), "What to look at next", "Line"),
    "handover": Declared("Handover", ("M",), "A note for whoever takes the case over", "Line"),
    "keep_first": Declared(
        "Keep the first of two answers", ("F3",), "Where two people differ", "Answers"
    ),
    "keep_other": Declared(
        "Take the other of two answers", ("F4",), "Where two people differ", "Answers"
    ),
    "close_case": Declared(
        "Close this case …", ("Ctrl+E",), "What was found, how surely, hours, why", "Case"
    ),
    "photographs": Declared("Photographs …", ("Ctrl+Shift+P",), "Add, show, describe", "Case"),
    "report": Declared(
        "Report …", ("Ctrl+R",), "For the customer or the job folder, as PDF or web page", "Case"
    ),
    "undo": Declared("Undo", ("Ctrl+Z",), "Take the last answer back", "Answers"),
    "redo": Declared("Redo", ("Ctrl+Shift+Z", "Ctrl+Y"), "Give it again", "Answers"),
    "intake": Declared(
        "Change the intake",
        ("Ctrl+I",),
        "Set-up, kit, complaint, work done, what is open",
        "Answers",
    ),
    "bench": Declared("To the bench", ("Ctrl+Return",), "The next check and the causes", "Answers"),
    "read": Declared("Cautions read", ("R",), "Say that the cautions were read", "Answers"),
    "skip": Declared("Can't do it now", ("X",), "Leave this out and go on", "Answers"),
    "others": Declared("Others from here", ("O",), "Choose another check", "Answers"),
    "voice": Declared("Another voice", ("V",), "At the vehicle, on the phone, why", "Answers"),
    "why_step": Declared(
        "Why this step", ("Y",), "Reasons, what each answer leads to, pull or not", "Answers"
    ),
    "better": Declared(
        "On second thoughts", ("T",), "Take the step that turned out to be better", "Answers"
    ),
    "saw": Declared(
        "While I was there I saw …", ("S",), "Tell what was seen by the way; no hours", "Answers"
    ),
    "closing": Declared(
        "Before it closes", ("I",), "What is worth a look while it is open", "Answers"
    ),
    "why": Declared("Why this cause", ("W",), "What speaks for and against it", "Answers"),
    "numbers": Declared(
        "Numbers", ("N",), "All readings beside what each cause predicts", "Answers"
    ),
    "look_up": Declared(
        "Look it up", ("L",), "The handbook's page of what is asked or marked", "Answers"
    ),
    "work_out": Declared(
        "Work it out …",
        ("Ctrl+K",),
        "Dial readings, slave travel, torque, bolts, fluid, units",
        "Answers",
    ),
    "handbook": Declared(
        "Handbook", ("Ctrl+H",), "All complaints, causes and checks, with the tree drawn", "View"
    ),
    "page_before": Declared("Back", ("Alt+Left",), "The handbook page before this one", "View"),
    "save_handbook": Declared(
        "Save the handbook …", ("Ctrl+Shift+H",), "As a web page that needs nothing else", "View"
    ),
    "shop_numbers": Declared(
        "Numbers of the shop", ("Ctrl+Shift+N",), "What came back, why, hours and pulls", "View"
    ),
    "learning": Declared(
        "What was learned …", ("Ctrl+Shift+L",), "From closed cases; off unless wanted", "View"
    ),
    "settings": Declared(
        "Settings …", ("Ctrl+,",), "Who sits here, the store, learning, folders", "View"
    ),
    "panel": Declared(
        "Next panel", ("F6",), "Next step, causes, before it closes, findings", "View"
    ),
    "panel_back": Declared("Panel before", ("Shift+F6",), "The other way round", "View"),
    "larger": Declared("Larger text", ("Ctrl++", "Ctrl+="), "Up to 200 %", "View"),
    "smaller": Declared("Smaller text", ("Ctrl+-",), "Down to 100 %", "View"),
    "theme": Declared("Next colours", ("Ctrl+T",), "Light, dark, high contrast", "View"),
    "projector": Declared(
        "For a projector", ("F11", "Ctrl+P"), "Larger text on the whole screen, and back", "View"
    ),
    "menu": Declared("Menu", ("F10",), "All that can be done", "View"),
    "help": Declared("Keys", ("F1",), "All keys on one page", "View"),
}

# What the widgets themselves answer to; told on the help page beside the actions.
WIDGET_KEYS: tuple[tuple[str, str], ...] = (
    ("1 to 9", "Give the answer with that figure"),
    ("Enter", "Take what is marked: open a cause, change a finding, next page"),
    ("Delete", "Remove the marked finding"),
    ("Alt+1, Alt+2", "Take what was worked out into the case"),
    ("Tab, Shift+Tab", "To the next or the previous field"),
    ("Arrows", "Move in a list"),
    ("Esc", "Close a dialog or the handbook, leave a reading, back one page in the intake"),
)


class Actions:
    """The actions of one window as Qt has them.

    Parameters
    ----------
    owner : QWidget
        The window in which the keys hold.
    """

    def __init__(self, owner: QWidget) -> None:
        self._actions = {name: _made(name, declared, owner) for name, declared in ACTIONS.items()}
        owner.addActions(list(self._actions.values()))

    def __getitem__(self, name: str) -> QAction:
        return self._actions[name]

    def connect(self, handlers: Mapping[str, Callable[[], object]]) -> None:
        """Say what each action does."""
        for name, handler in handlers.items():
            self._actions[name].triggered.connect(lambda _=False, call=handler: call())

    def allow(self, names: Collection[str]) -> None:
        """Let these actions be taken, and no others."""
        for name, action in self._actions.items():
            action.setEnabled(name in names)

    def tell(self, name: str, what: str) -> None:
        """Say in an action's tip what it would do now, where there is something."""
        action = self._actions[name]
        tip = f"{action.text()}: {what}" if what else action.statusTip()
        action.setToolTip(f"{tip} ({action.shortcut().toString()})")

    def groups(self) -> dict[str, list[QAction]]:
        """Give the actions by group, in the order they were declared."""
        groups: dict[str, list[QAction]] = {}
        for name, declared in ACTIONS.items():
            groups.setdefault(declared.group, []).append(self._actions[name])
        return groups


def _made(name: str, declared: Declared, owner: QWidget) -> QAction:
    action = QAction(declared.text, owner)
    action.setObjectName(name)
    action.setShortcuts([QKeySequence(key) for key in declared.keys])
    action.setShortcutContext(Qt.ShortcutContext.WindowShortcut)
    action.setToolTip(f"{declared.tip} ({declared.keys[0]})")
    action.setStatusTip(declared.tip)
    return action
