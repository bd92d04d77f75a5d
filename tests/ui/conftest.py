"""Windows for the tests: on the shipped knowledge, with folders of their own."""

import time
from dataclasses import dataclass
from functools import lru_cache

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from diagnose.assess import assess
from diagnose.case import Case
from diagnose.planning.advice import advices
from knowledge.load import base_folder
from ui import loading, theme, weighing
from ui.fonts import load_face
from ui.settings import Places, Settings
from ui.views.main_window import MainWindow

_DOUBT = weighing._doubt
PATIENCE = 20_000  # milliseconds; only a broken program waits that long


def wait_until(true):
    """Let the window work until something is true."""
    end = time.monotonic() + PATIENCE / 1000
    while not true():
        assert time.monotonic() < end, "waited in vain"
        QTest.qWait(2)


def close(window):
    """Close a window for good."""
    if window.session is not None:
        window.session.trouble = ""  # nobody is there to be asked about it
    window.close()
    window.deleteLater()
    QApplication.processEvents()


@pytest.fixture(scope="session", autouse=True)
def at_once():
    """No second thoughts: those take their time, and tests that want them say so.

    What one case is assessed as is not worked out again for every test that opens it.
    """

    def only_first(assessment, *, cancelled=lambda: False):
        yield advised(assessment)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weighing, "assess", assessed)
        patch.setattr(weighing, "advices", only_first)
        patch.setattr(weighing, "_doubt", lambda *_: weighing.Doubts((), {}))
        yield


def assessed(base, case, **how):
    """Assess a case, or give the assessment of the same one."""
    return _assessed(base, case.model_dump_json(), **how)


@lru_cache(maxsize=60)
def _assessed(base, case, **how):
    return assess(base, Case.model_validate_json(case), **how)


@lru_cache(maxsize=60)
def advised(assessment):
    """The first advice, or the one that was given before."""
    return next(advices(assessment))


@pytest.fixture
def with_doubts(monkeypatch):
    """Second thoughts on the answers, as the program has them."""
    monkeypatch.setattr(weighing, "_doubt", _DOUBT)


@pytest.fixture(scope="session", autouse=True)
def one_base(knowledge):
    """Windows share one knowledge base, and so what has been worked out from it."""
    read = loading.read_base

    def shared(folders):
        return read(folders) if folders else knowledge

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(loading, "read_base", shared)
        yield


@pytest.fixture(scope="session")
def base(knowledge):
    return knowledge


@pytest.fixture(scope="session")
def example():
    return base_folder().parent / "examples" / "example.yaml"


@pytest.fixture(scope="session")
def face(qapp):
    qapp.setStyle("Fusion")
    return load_face()


@pytest.fixture(scope="session")
def new_driver(face):
    """Make a driver of a window; whoever asks for it closes it."""

    def make(settings, places, qtbot=None):
        window = MainWindow(settings, places, face)
        window.show()
        window.activateWindow()
        wait_until(window.isActiveWindow)
        return Driver(window, qtbot)

    return make


@pytest.fixture(scope="module")
def window(qapp, face, new_driver, tmp_path_factory):
    """One window for all tests of a module, on folders of its own."""
    theme.apply(qapp, "light", 1.0, face)
    folder = tmp_path_factory.mktemp("home")
    driver = new_driver(Settings(theme="light"), Places(folder / "config", folder / "data"))
    driver.window.load()
    driver.settle()
    yield driver
    close(driver.window)


@pytest.fixture
def dressed(qapp, face):
    """The application in its light colours; other tests may have changed them."""
    theme.apply(qapp, "light", 1.0, face)
    return qapp


@dataclass
class Driver:
    """A window, and the hands on its keyboard."""

    window: MainWindow
    qtbot: object

    @property
    def session(self):
        return self.window.session

    @property
    def bench(self):
        return self.window.bench

    @property
    def intake(self):
        return self.window.intake

    def settle(self):
        """Wait until nothing is under way."""
        wait_until(lambda: not self.window.jobs.busy)
        QApplication.processEvents()

    def press(self, key, modifier=Qt.KeyboardModifier.NoModifier):
        """Press a key wherever the focus is."""
        target = QApplication.focusWidget() or self.window
        QTest.keyClick(target, key, modifier)

    def press_and_settle(self, key, modifier=Qt.KeyboardModifier.NoModifier):
        """Press a key that changes the case once the window is drawn; wait for its assessment."""
        QApplication.processEvents()
        with self.qtbot.waitSignal(self.session.assessment_changed, timeout=PATIENCE):
            self.press(key, modifier)
        self.settle()

    def leave_dialog(self):
        """Close the dialog by Esc, and give the window the focus back as a desktop does."""
        self.press(Qt.Key.Key_Escape)
        wait_until(lambda: QApplication.activeModalWidget() is None)
        self.window.activateWindow()
        wait_until(self.window.isActiveWindow)

    def type(self, text):
        """Type a text wherever the focus is."""
        QTest.keyClicks(QApplication.focusWidget(), text)

    def open(self, path):
        """Open a case file and wait for its assessment."""
        with self.qtbot.waitSignal(self.session.assessment_changed, timeout=PATIENCE):
            self.window.open_path(path)
        self.settle()

    def open_kept(self, case_id):
        """Open a case of the store and wait for its assessment."""
        with self.qtbot.waitSignal(self.session.assessment_changed, timeout=PATIENCE):
            self.window.open_kept(case_id)
        self.settle()


@pytest.fixture
def make_driver(qtbot, dressed, new_driver, tmp_path):
    """Make a window on folders of its own; it is closed after the test."""
    windows = []

    def make(settings=None, places=None, path=None):
        places = places or Places(tmp_path / "config", tmp_path / "data")
        driver = new_driver(settings or Settings(theme="light"), places, qtbot)
        windows.append(driver.window)
        with qtbot.waitSignal(driver.window.ready, timeout=PATIENCE):
            driver.window.load(path)
        driver.settle()
        return driver

    yield make
    for window in windows:
        close(window)


@pytest.fixture
def driver(make_driver):
    return make_driver()


@pytest.fixture
def at_bench(driver, example):
    driver.open(example)
    return driver
