"""Pictures of every screen, from the example case: ``python packaging/pictures.py FOLDER``.

Drawn without a screen, in the program's own face. With ``--only bench`` just the screens whose
name begins so; the first size and the light and dark colours are those of the readme.
"""

import argparse
import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from picture_class import class_screens
from picture_handbook import handbook_screens
from picture_line import line_screens
from picture_office import office_screens
from picture_stage import Stage
from picture_vehicle import vehicle_screens
from PySide6.QtWidgets import QApplication, QWidget

from ui import theme
from ui.fonts import load_face

SIZES = ((1280, 800), (1920, 1080))


def screens(stage: Stage) -> Mapping[str, Callable[[], QWidget]]:
    """Give every screen by its name."""
    return {
        **vehicle_screens(stage),
        **handbook_screens(stage),
        **line_screens(stage),
        **office_screens(stage),
        **class_screens(stage),
    }


def pictures(
    app: QApplication, into: Path, only: str, sizes: tuple[tuple[int, int], ...]
) -> Iterator[Path]:
    """Save the pictures; gives each path as it is done."""
    family = load_face()
    for name in theme.THEME_NAMES[1:]:
        with tempfile.TemporaryDirectory() as folder:
            theme.apply(app, name, 1.0, family)
            stage = Stage(app, Path(folder), family, name)
            for size in sizes:
                for screen, show in screens(stage).items():
                    if not screen.startswith(only):
                        continue
                    stage.window.resize(*size)  # large text may have made it wider
                    shown = show()
                    stage.settle()
                    wide = "" if size == SIZES[0] else f"-{size[0]}"
                    path = into / f"{screen}-{name}{wide}.png"
                    shown.grab().save(str(path))
                    yield path
                    stage.window.remember(text_scale=1.0)
                    stage.window.dress()
            stage.window.close()
            stage.window.deleteLater()
            app.processEvents()


def main() -> int:
    """Make the pictures the command line asks for."""
    parser = argparse.ArgumentParser(description="Make pictures of every screen.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", metavar="NAME")
    parser.add_argument("--small", action="store_true", help="only the first size")
    arguments = parser.parse_args()
    arguments.folder.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    sizes = SIZES[:1] if arguments.small else SIZES
    for path in pictures(app, arguments.folder, arguments.only, sizes):
        print(path)
    return 0


if __name__ == "__main__":
    sys.exit(main())
