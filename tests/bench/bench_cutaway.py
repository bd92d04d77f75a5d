"""Frames a second while the pedal of the cutaway is dragged: run it with Python.

Geometry and painting into an image of 1280 x 800, for every set-up, healthy and overlaid with a
fault, light; the pedal moves from its rest to its stop and back. Times are of the processor, and of
the wall beside them: on a machine that does other work as well only the first tell of the program.
"""

import os
import sys
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from diagnose.drawings.cutaway.faults import Fault, parts_of
from diagnose.drawings.cutaway.layout import View, subject_of
from diagnose.drawings.cutaway.scene import cutaway
from diagnose.physics.predict import Shift
from diagnose.physics.presets import PRESETS
from ui import theme
from ui.fonts import load_face
from ui.widgets.cutaway_painting import Canvas

SIZE = (1280, 800)
FRAMES = 120
SHIFTS = (Shift("pedal_play", 12.0), Shift("stack_excess", 0.6))


def frames_per_second(subject, view, app):
    """Seconds are those of geometry and painting; the first frame only warms the caches."""
    image = QImage(*SIZE, QImage.Format.Format_ARGB32_Premultiplied)
    canvas = Canvas(app.palette(), app.font())
    travel = subject.healthy.travel
    spent = []
    for i in range(FRAMES + 1):
        pad = travel * abs(1.0 - 2.0 * ((i / FRAMES) % 1.0))
        wall, start = time.perf_counter(), time.process_time()
        picture = cutaway(subject, view, pad)
        drawn = time.process_time()
        painter = QPainter(image)
        canvas.paint(painter, picture)
        painter.end()
        spent.append((drawn - start, time.process_time() - drawn, time.perf_counter() - wall))
    geometry, painting, wall = (sum(column) / FRAMES for column in zip(*spent[1:], strict=True))
    slowest = max(one + other for one, other, _ in spent[1:])
    return geometry, painting, slowest, wall


def main():
    app = QApplication([])
    theme.apply(app, "light", 1.0, load_face())
    fault = Fault("two", "play at the pedal and a thick stack", SHIFTS, parts_of(SHIFTS))
    print(
        "set-up                      shown     geometry ms  painting ms  frames/s  slowest ms"
        "  by the wall"
    )
    for name, system in PRESETS.items():
        for show in ("healthy", "overlay"):
            subject = subject_of(system, fault=fault)
            view = View(*SIZE, show=show)
            geometry, painting, slowest, wall = frames_per_second(subject, view, app)
            rate = 1.0 / (geometry + painting)
            print(
                f"{name:27s} {show:9s} {1e3 * geometry:11.2f} {1e3 * painting:12.2f} "
                f"{rate:9.0f} {1e3 * slowest:11.1f} {1.0 / wall:12.0f}"
            )


if __name__ == "__main__":
    main()
