"""Dialogs and pages of the office, for pictures: the end of a case, papers, and the shop."""

from collections.abc import Callable, Mapping
from functools import partial

from picture_line import line
from picture_stage import Stage
from PySide6.QtWidgets import QWidget


def dialog(stage: Stage, action: str) -> QWidget:
    """Show the dialog that an action opens, over the example case among others."""
    line(stage)
    stage.window.show_bench()
    stage.settle()
    stage.window.actions_[action].trigger()
    return stage.dialog()


def shop_numbers(stage: Stage) -> QWidget:
    """Show the numbers of the shop."""
    line(stage)
    stage.window.show_bench()
    stage.window.actions_["shop_numbers"].trigger()
    return stage.window


def office_screens(stage: Stage) -> Mapping[str, Callable[[], QWidget]]:
    """Give each screen by its name."""
    dialogs = {
        "closing": "close_case",
        "photographs": "photographs",
        "report": "report",
        "settings": "settings",
        "learning": "learning",
    }
    return {
        **{name: partial(dialog, stage, action) for name, action in dialogs.items()},
        "shop-numbers": partial(shop_numbers, stage),
        **{
            f"large-{name}": partial(stage.large, partial(dialog, stage, action))
            for name, action in dialogs.items()
        },
        "large-shop-numbers": partial(stage.large, partial(shop_numbers, stage)),
    }
