"""Which actions can be taken where; that the window goes by it is driven in `test_walk.py`."""

from typing import get_args

import pytest

from ui.actions import ACTIONS
from ui.live_actions import Page, Shown, live_actions

PAGES = get_args(Page)
FULL = {"loaded": True, "undoes": "An answer", "redoes": "Another", "has_before": True}


def test_every_action_is_live_somewhere_and_none_is_unknown():
    live = frozenset().union(*(live_actions(Shown(page, **FULL)) for page in PAGES))
    assert live == frozenset(ACTIONS)


@pytest.mark.parametrize("page", PAGES)
def test_before_the_base_is_there_only_the_window_itself_answers(page):
    live = live_actions(Shown(page, loaded=False, undoes="An answer"))
    assert live == {"quit", "larger", "smaller", "theme", "projector", "menu", "help"}


@pytest.mark.parametrize("page", PAGES)
def test_no_two_live_actions_of_a_page_share_a_key(page):
    keys = [key for name in live_actions(Shown(page, **FULL)) for key in ACTIONS[name].keys]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize(
    ("page", "there", "not_there"),
    [
        ("bench", {"why", "numbers", "read", "picture", "intake"}, {"bench", "search", "on_map"}),
        ("line", {"read", "search", "set_closed", "bench"}, {"why", "numbers", "picture"}),
        ("intake", {"save_as", "bench", "undo"}, {"intake", "read", "follow_up", "picture"}),
        ("class", {"picture", "new"}, {"save_as", "undo", "close_case", "read"}),
        ("handbook", {"on_map", "page_before"}, {"save_as", "undo", "read", "picture"}),
        ("other", {"cases", "vehicle", "shop_numbers"}, {"save_as", "undo", "redo", "intake"}),
    ],
)
def test_what_is_live_on_each_page(page, there, not_there):
    live = live_actions(Shown(page, **FULL))
    assert there <= live
    assert not not_there & live


def test_nothing_to_take_back_and_no_page_before():
    assert not {"undo", "redo"} & live_actions(Shown("bench", loaded=True))
    assert "redo" not in live_actions(Shown("bench", loaded=True, undoes="An answer"))
    assert "page_before" not in live_actions(Shown("handbook", loaded=True))
