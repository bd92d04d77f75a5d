"""Pages of the handbook, for pictures."""

from collections.abc import Callable, Mapping
from functools import partial

from picture_stage import Stage, there
from PySide6.QtWidgets import QWidget


def handbook(stage: Stage, kind: str, name: str, typed: str = "") -> QWidget:
    """A page of the handbook."""
    stage.example()
    stage.window.handbook.show()
    stage.settle()
    page = there(stage.window.handbook.page)
    page.search.field.setText(typed)
    page.open((kind, name))
    return stage.window


def handbook_tree(stage: Stage) -> QWidget:
    """The drawing of a complaint in the handbook."""
    handbook(stage, "complaints", "chatters")
    stage.settle()
    bar = there(stage.window.handbook.page).text.verticalScrollBar()
    bar.setValue(round(0.2 * bar.maximum()))
    return stage.window


def handbook_screens(stage: Stage) -> Mapping[str, Callable[[], QWidget]]:
    """Give each screen by its name."""
    return {
        "handbook": partial(handbook, stage, "section", ""),
        "handbook-search": partial(handbook, stage, "complaints", "chatters", "judder"),
        "handbook-tree": partial(handbook_tree, stage),
        "handbook-overview": partial(handbook, stage, "section", "overview"),
        "handbook-drawn": partial(handbook, stage, "section", "drawn"),
        "handbook-cautions": partial(handbook, stage, "section", "cautions"),
        "handbook-causes": partial(handbook, stage, "section", "causes"),
        "handbook-cause": partial(handbook, stage, "causes", "air_in_system"),
        "handbook-check": partial(handbook, stage, "checks", "gears_engine_off"),
        "handbook-measurement": partial(handbook, stage, "measurements", "pedal_free_play"),
        "large-handbook": partial(stage.large, partial(handbook_tree, stage)),
        "large-handbook-cause": partial(
            stage.large, partial(handbook, stage, "causes", "air_in_system")
        ),
    }
