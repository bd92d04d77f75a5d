"""How long the map takes: what is shown, its layout, its light, and one painting of it.

    python tests/bench/bench_map.py

On the shipped base with the example case: all groups closed, all opened, and one complaint followed
up; medians of warm runs on one core, in ms of processor time. What is meant to be met stands beside
the figure.
"""

import os
import statistics
import sys
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).parents[2]))

from PySide6.QtWidgets import QApplication

from diagnose.assess import assess
from diagnose.case import Case
from diagnose.case_file import read_case_file
from diagnose.drawings.rows import Size
from diagnose.map import MapGraph, State, cut_sets, light_of, place, shown
from diagnose.what_if import WhatIf
from knowledge.load import base_folder, load_base
from ui import theme
from ui.fonts import load_face
from ui.views.map_page import MapPage

RUNS = 15
LAID_OUT = 100.0  # ms, what is meant to be met by the layout of all


def median(work):
    """Median processor time of some runs, in ms, after one to warm up."""
    work()
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(1000.0 * (time.process_time() - start))
    return statistics.median(times)


def main():
    base = load_base()
    case = read_case_file(base_folder().parent / "examples" / "example.yaml", base)
    assessment = assess(base, case)
    graph, light = MapGraph.of(base, {}), light_of(assessment)
    every = frozenset(graph.groups)
    states = {
        "closed": State(),
        "all open": State(opened=every),
        "one complaint": State().following(("complaints", "gears_grind"), "up"),
    }
    print(f"{len(graph.nodes)} records, {len(graph.links)} links")
    print(f"{'':16}{'boxes':>6}{'shown':>8}{'laid out':>10}")
    for name, state in states.items():
        content = shown(graph, state, light)
        sizes = {key: Size(220.0, 40.0) for key in content.boxes}
        chosen = median(lambda state=state: shown(graph, state, light))
        placed = median(lambda content=content, sizes=sizes: place(content, sizes))
        print(f"{name:16}{len(content.boxes):6}{chosen:8.1f}{placed:10.1f}   (below {LAID_OUT:g})")
    print(f"light of a case       {median(lambda: light_of(assessment)):8.1f}")
    found = median(lambda: cut_sets(base, case.facts, "gears_grind", light))
    print(f"cut sets, kept        {found:8.1f}")
    what_if = WhatIf.of(base, Case(setup=case.setup, facts=case.facts))
    slid = {"stack": 1.0}

    def slide():
        what_if.chances((), slid)
        what_if.readings((), slid)

    print(f"one slide             {median(slide):8.1f}")
    paint(base, assessment)


def paint(base, assessment):
    """The window's share: measured with its fonts, laid out and painted."""
    app = QApplication.instance() or QApplication([])
    app.setStyle("Fusion")
    theme.apply(app, "light", 1.0, load_face())
    for size in ((1280, 740), (1920, 1020)):
        page = MapPage(base, assessment)
        page.resize(*size)
        page.show()
        app.processEvents()
        page.toggle_all()
        relaid, painted = median(page.view.relay), median(page.view.viewport().grab)
        print(f"all open at {size[0]} x {size[1]}: relaid {relaid:.1f}, painted {painted:.1f}")
        page.view.fit()
        print(f"  and as small as it gets: painted {median(page.view.viewport().grab):.1f}")
        page.close()


if __name__ == "__main__":
    main()
