"""What every screen owes a person: names, keys of their own, room for the words, large targets."""

from collections import Counter
from dataclasses import replace
from functools import lru_cache, partial

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QKeySequence
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QCheckBox,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)

from diagnose.planning.problem import DRIVE
from diagnose.practice.appraisal import appraise
from diagnose.practice.harm import cautions_before
from diagnose.practice.review import Review, belief
from diagnose.practice.run import begin
from diagnose.practice.scoring import score
from ui import moves, practice_desk, theme
from ui.practice_looks import Looks
from ui.settings import Places, Settings
from ui.widgets.answer_button import AnswerButton

SCREENS = (
    "cases",
    "setup",
    "kit",
    "kit wrong",
    "kit unknown",
    "complaint",
    "work",
    "work asked",
    "stands",
    "bench",
    "cautions",
    "gauge",
    "choices",
    "repair",
    "found",
    "stop",
    "trouble",
    "open",
    "drive",
    "hand over",
    "seen",
    "better",
    "why step",
    "saw",
    "why",
    "change",
    "keys",
    "handbook",
    "handbook found",
    "handbook page",
)
CLASS_SCREENS = (
    "class cutaway",
    "class cutaway figures",
    "class cutaway beside",
    "class map",
    "class map mark",
    "class map cuts",
    "class what if",
    "class what if causes",
    "class practice",
    "class running",
    "class review",
)
SCALES = (
    *((name, 1.0) for name in SCREENS + CLASS_SCREENS),
    *((name, 1.5) for name in CLASS_SCREENS),  # what a projector needs
    *((name, 2.0) for name in SCREENS),
)
SLAVE = "slave_leaks"
PUMP, BOOT = ("check", "pump_pedal"), ("check", "slave_boot_look")
SOLVED = (PUMP, ("check", "smell"), BOOT, ("repair", SLAVE), DRIVE)


@pytest.fixture(scope="module")
def at_bench(qapp, face, new_driver, example, tmp_path_factory):
    """One window for all screens: each is shown on the example opened anew."""
    theme.apply(qapp, "light", 1.0, face)
    folder = tmp_path_factory.mktemp("home")
    driver = new_driver(Settings(theme="light"), Places(folder / "config", folder / "data"))
    driver.window.load()
    driver.settle()
    driver.window.open_path(example)
    driver.settle()
    yield driver
    driver.window.session.trouble = ""
    driver.window.close()
    driver.window.deleteLater()
    QApplication.processEvents()


def advice_ways(driver, base, opened):
    """The ways to the screens of the advice."""
    window, session, bench = driver.window, driver.session, driver.bench

    def open_():
        session.change(moves.stands(base, session.case, "gearbox_out"), "where you can work")
        driver.settle()
        return window

    def drive():
        cause = next(c for c in session.standing.assessment.causes if c.id in base.causes)
        session.change(moves.mended(base, session.case, cause.id), "the repair")
        driver.settle()
        bench.card.choose("drive", "")
        return window

    def seen():
        bench.card.choose("check", "pilot_look", seen=True)
        bench.card.acknowledge()
        return window

    def better():
        bench.card.follow()
        bench.card.acknowledge()
        advice = session.standing.advice
        first, second, *rest = advice.options
        ahead = replace(second, expected=first.expected - 1.0)
        turned = replace(advice, options=(ahead, first, *rest), refined=True)
        session.standing = replace(session.standing, advice=turned)
        session.advice_changed.emit()
        assert bench.card.better.isVisible()
        return window

    def hand_over():
        bench.card.choose("hand_over", "")
        return window

    return {
        "open": open_,
        "drive": drive,
        "hand over": hand_over,
        "seen": seen,
        "better": better,
        "why step": lambda: opened(bench.open_advice),
        "saw": lambda: opened(bench.open_saw),
    }


@lru_cache(maxsize=1)
def review_of_the_example(base):
    """A review of the example solved; the planner and the list went the same way, to be quick."""
    run = begin(base, practice_desk.read(base, practice_desk.example_file()))
    for act in SOLVED:
        run = run.reading(cautions_before(base, act)).after(act)
    assert run.end == "verified"
    look = Looks(partial(appraise, refined=False)).appraiser()
    made, points = score(run, look=look), belief(run, look=look)
    return Review(run, run, run, made, points, points, made.minutes)


def class_ways(driver, base):
    """The ways to the pages of the class room, all on the example case."""
    window, session = driver.window, driver.session

    def page(name):
        window.show_class()
        window.class_room.show_page(name)
        driver.settle()
        return window.class_room.page(name)

    def cutaway(manner="overlay", *, every=False):
        drawn = page("cutaway")
        drawn.show_cause("air_in_system")
        drawn.show_manner(manner)
        drawn.show_every_figure(every)
        return window

    def map_(kind="", name="", *, cuts=False):
        drawn = page("map")
        drawn.whole()
        if kind:
            drawn.show_record(kind, name)
        if cuts:
            drawn.panel.cuts_wanted.emit()
        return window

    def what_if(*causes):
        page("what if").set_causes(causes)
        return window

    def practice(*acts):
        shown = page("practice")
        shown.leave()
        shown.review.other_wanted.emit()
        if acts:
            shown.begin(practice_desk.read(base, practice_desk.example_file()))
            window.jobs.drop("practice ahead")
            for act in acts[:-1]:
                shown.running.choose(act)
                shown.running.read()
                shown.running.make_move()
            shown.running.choose(acts[-1])
            driver.settle()
        return window

    def looked_back():
        shown = page("practice")
        practice()
        looked = review_of_the_example(base)
        shown.review.begin(looked.run)
        shown.review.show_score(looked.score, looked.belief)
        shown.review.show_review(looked)
        shown.stack.setCurrentWidget(shown.review)
        return window

    return {
        "class cutaway": cutaway,
        "class cutaway figures": lambda: cutaway(every=True),
        "class cutaway beside": lambda: cutaway("beside"),
        "class map": map_,
        "class map mark": lambda: map_("causes", session.standing.assessment.causes[0].id),
        "class map cuts": lambda: map_("complaints", next(iter(base.complaints)), cuts=True),
        "class what if": what_if,
        "class what if causes": lambda: what_if(SLAVE, "air_in_system"),
        "class practice": practice,
        "class running": lambda: practice(PUMP, BOOT),
        "class review": looked_back,
    }


@pytest.fixture
def show(at_bench, base, example):
    """Show a screen by its name; gives its widget."""
    for old in at_bench.window.findChildren(QDialog):
        old.close()
    at_bench.window.activateWindow()
    at_bench.window.clear_trouble()
    at_bench.window.open_path(example)
    at_bench.settle()
    window, session, bench = at_bench.window, at_bench.session, at_bench.bench

    def read(kind, key):
        bench.card.choose(kind, key)
        bench.card.acknowledge()
        return window

    def page(place):
        window.show_intake(place)
        return window

    def opened(act):
        act()
        at_bench.settle()
        return next(d for d in window.findChildren(QDialog) if d.isVisible())

    def repair():
        return read("repair", session.standing.assessment.causes[0].id)

    def found():
        repair()
        bench.card.pad.buttons[0].click()
        return window

    def kit_wrong():
        page(1)
        for line in at_bench.intake.kit.lines.values():
            line.field.setText("much more than that")
        return window

    def kit_unknown():
        session.start()
        return page(1)

    def work_asked():
        page(3)
        at_bench.intake.work.ask(next(iter(base.work)))
        return window

    def trouble():
        window.show_trouble("Something could not be done. Nothing is lost.", "Do another thing.")
        return window

    def cautions():
        bench.card.choose("check", next(c.id for c in base.checks.values() if len(c.cautions) > 2))
        return window

    def stop():
        finding = next(f for f in base.findings.values() if f.stop)
        check = next(c for c in base.checks.values() if finding.id in c.reads())
        read("check", check.id)
        bench.card.pad.buttons[0].click()
        return window

    def handbook(typed="", key=None):
        window.handbook.show()
        at_bench.settle()
        window.handbook.page.search.field.setText(typed)
        if key is not None:
            window.handbook.page.open(key)
        return window

    def most_answers():
        return max(base.checks.values(), key=lambda c: len(c.answers)).id

    ways = {
        "cases": lambda: (window.show_cases(), window)[1],
        "setup": lambda: page(0),
        "kit": lambda: page(1),
        "kit wrong": kit_wrong,
        "kit unknown": kit_unknown,
        "complaint": lambda: page(2),
        "work": lambda: page(3),
        "work asked": work_asked,
        "stands": lambda: page(4),
        "bench": lambda: window,
        "cautions": cautions,
        "gauge": lambda: read("check", next(c.id for c in base.checks.values() if c.gauge)),
        "choices": lambda: read("check", most_answers()),
        "repair": repair,
        "found": found,
        "stop": stop,
        "trouble": trouble,
        **advice_ways(at_bench, base, opened),
        "why": lambda: opened(bench.causes.open_marked),
        "change": lambda: opened(lambda: bench.open_change(0)),
        "keys": lambda: opened(window.show_keys),
        "handbook": handbook,
        "handbook found": lambda: handbook("bearing"),
        "handbook page": lambda: handbook("xyzzy", ("complaints", "chatters")),
        **class_ways(at_bench, base),
    }
    assert set(ways) == {*SCREENS, *CLASS_SCREENS}

    def shown(name):
        widget = ways[name]()
        at_bench.settle()
        for _ in range(10):
            QApplication.processEvents()
        return widget

    return shown


def visible(root, kind):
    return [w for w in root.findChildren(kind) if w.isVisible() and w.window() is root.window()]


def spoken_name(widget):
    face = QAccessible.queryAccessibleInterface(widget)
    return face.text(QAccessible.Text.Name)


def nameless(root):
    """What takes the focus and has nothing to be called by."""
    focusable = [
        w
        for w in visible(root, QWidget)
        if w.focusPolicy() != Qt.FocusPolicy.NoFocus and w.isEnabled()
    ]
    assert focusable
    return [
        w
        for w in focusable
        # The name of a combo box is its current text on some systems; its label counts there.
        if not (w.accessibleName() if isinstance(w, QComboBox) else spoken_name(w))
    ]


def keys_given_twice(root):
    """Mnemonics and answer keys that more than one thing on the screen answers to."""
    texts = [w.text() for w in visible(root, QAbstractButton)]
    texts += [w.text() for w in visible(root, QLabel) if w.buddy() is not None]
    keys = Counter(QKeySequence.mnemonic(text).toString() for text in texts)
    keys.update(w.shortcut().toString() for w in visible(root, AnswerButton))
    del keys[""]
    return [key for key, count in keys.items() if count > 1]


def small_targets(root):
    """Buttons and fields that are hard to hit."""
    small = [
        (w.text(), w.height())
        for w in visible(root, QAbstractButton)
        if w.height() < (56 if isinstance(w, AnswerButton) else 40)
    ]
    fields = [*visible(root, QLineEdit), *visible(root, QComboBox)]
    return small + [(w.accessibleName(), w.height()) for w in fields if w.height() < 40]


@pytest.mark.parametrize("name", SCREENS + CLASS_SCREENS)
def test_names_keys_and_targets(show, name):
    root = show(name)
    assert nameless(root) == []
    assert keys_given_twice(root) == []
    assert small_targets(root) == []


def test_what_is_wrong_is_found(qtbot):
    box = QWidget()
    qtbot.addWidget(box)
    for _ in range(2):
        button = QCheckBox("&Go", box)
        button.setFixedHeight(20)
    QLineEdit(box)
    box.show()
    assert len(nameless(box)) == 1
    assert keys_given_twice(box) == ["Alt+G"]
    assert ("&Go", 20) in small_targets(box)


def cut_off(root):
    """Words that do not have the room they need."""
    return [*cut_labels(root), *cut_buttons(root)]


def cut_labels(root):
    """Labels whose words do not fit."""
    bad = []
    for label in visible(root, QLabel):
        box, metrics = label.contentsRect(), label.fontMetrics()
        if not label.text():
            continue
        if label.wordWrap():
            needed = metrics.boundingRect(
                QRect(0, 0, box.width(), 100_000), Qt.TextFlag.TextWordWrap, label.text()
            )
            if needed.height() > box.height() + 1 or needed.width() > box.width() + 1:
                bad.append((label.text(), box, needed))
        elif metrics.horizontalAdvance(label.text().replace("&", "")) > box.width() + 1:
            bad.append((label.text(), box, metrics.horizontalAdvance(label.text())))
    return bad


def cut_buttons(root):
    """Buttons whose words do not fit."""
    answers = visible(root, AnswerButton)
    others = visible(root, QPushButton)
    return [
        *(w.text() for w in answers if w.heightForWidth(w.width()) > w.height()),
        *(w.text() for w in others if w.sizeHint().width() > w.width()),
    ]


def sticks_out(root):
    """Widgets that reach beyond the side of the window or the scroll area they are in."""
    bad = []
    for widget in visible(root, QWidget):
        parent = widget.parentWidget()
        while parent is not None and not isinstance(parent, QAbstractScrollArea):
            if parent is root:
                break
            parent = parent.parentWidget()
        if (
            parent is None
            or widget is root
            or isinstance(widget.parentWidget(), QAbstractScrollArea)
        ):
            continue
        left = widget.mapTo(root, QPoint(0, 0)).x()
        if left < 0 or left + widget.width() > root.width():
            bad.append((type(widget).__name__, left, widget.width(), root.width()))
    return bad


@pytest.mark.parametrize(("name", "scale"), SCALES)
def test_no_word_is_cut_off_and_nothing_sticks_out(at_bench, show, name, scale):
    window = at_bench.window
    if window.settings.text_scale != scale:
        window.remember(text_scale=scale)
        window.dress()
    root = show(name)
    assert (window.width(), window.height()) == (1280, 800)
    assert cut_off(root) == []
    assert sticks_out(root) == []


def test_a_word_that_is_cut_off_is_found(qtbot):
    box = QWidget()
    qtbot.addWidget(box)
    label = QLabel("as long as it gets", box)
    label.setFixedWidth(20)
    box.show()
    assert [found[0] for found in cut_off(box)] == ["as long as it gets"]
    label.setFixedWidth(400)
    assert cut_off(box) == []
    label.move(100, 0)
    box.resize(300, 50)
    assert sticks_out(box)


def test_tab_goes_round_the_bench(show, at_bench):
    show("bench")
    at_bench.bench.card.acknowledge()
    seen = []
    for _ in range(60):
        seen.append(QApplication.focusWidget())
        at_bench.press(Qt.Key.Key_Tab)
        if QApplication.focusWidget() is seen[0]:
            break
    assert QApplication.focusWidget() is seen[0]
    for widget in (at_bench.bench.causes.view, at_bench.bench.findings.view):
        assert widget in seen
