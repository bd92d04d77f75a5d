"""Which actions can be taken, by what is on the screen; the others are grey and their keys rest."""

from dataclasses import dataclass
from typing import Literal

from ui.actions import ACTIONS

Page = Literal["intake", "bench", "line", "class", "handbook", "other"]

_ALWAYS = frozenset({"quit", "larger", "smaller", "theme", "projector", "menu", "help"})
_WITH_A_BASE = frozenset(
    {"new", "open", "cases", "vehicle", "line", "class", "handbook", "save_handbook"}
    | {"settings", "learning", "shop_numbers"}
)
_IN_A_CASE = frozenset({"save_as", "work_out", "close_case", "photographs", "report"})
_WITH_A_CARD = frozenset(
    {"read", "skip", "others", "better", "voice", "why_step", "saw", "panel", "panel_back"}
    | {"keep_first", "keep_other"}
)
_ON_THE_BENCH = frozenset({"why", "closing", "numbers", "look_up"})
_IN_THE_LINE_ROOM = frozenset(name for name, act in ACTIONS.items() if act.group == "Line")
_CASE_PAGES = ("intake", "bench", "line")


@dataclass(frozen=True)
class Shown:
    """What the window shows.

    Attributes
    ----------
    page : Page
    loaded : bool
        The knowledge base is there.
    undoes, redoes : str
        What would be taken back or given again; empty for nothing.
    has_before : bool
        The handbook has a page to go back to.
    """

    page: Page
    loaded: bool
    undoes: str = ""
    redoes: str = ""
    has_before: bool = False


def live_actions(shown: Shown) -> frozenset[str]:
    """Give the names of the actions that can be taken."""
    if not shown.loaded:
        return _ALWAYS
    page, live = shown.page, _ALWAYS | _WITH_A_BASE
    if page in _CASE_PAGES:
        told = {"undo": shown.undoes, "redo": shown.redoes}
        live |= _IN_A_CASE | {name for name, what in told.items() if what}
        live |= {"intake", "bench"} - {page}
    if page in {"bench", "line"}:
        live |= _WITH_A_CARD
    if page == "bench":
        live |= _ON_THE_BENCH
    if page == "line":
        live |= _IN_THE_LINE_ROOM
    if page in {"bench", "class"}:
        live |= {"picture"}
    if page == "handbook":
        live |= {"on_map"} | ({"page_before"} if shown.has_before else set())
    return live
