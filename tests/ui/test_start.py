"""Starting: what is imported when, and the command with and without a window."""

import subprocess
import sys

import pytest

from ui.__main__ import main

SHOW = """
import sys
from PySide6.QtWidgets import QApplication
from ui import app, theme
from ui.settings import Settings, places
from ui.views.main_window import MainWindow
application = QApplication([])
window = MainWindow(Settings(), places(), "")
window.show()
application.processEvents()
print(*sorted(name.partition(".")[0] for name in sys.modules))
window.jobs.close()
"""
HEAVY = {"networkx", "pyAgrum", "numpy", "pydantic", "yaml", "scipy", "sqlalchemy", "diagnose"}
COMMAND = """
import sys
from ui.__main__ import main
status = main({words!r})
assert "PySide6" not in sys.modules, "a command needs no window"
sys.exit(status)
"""


def python(program):
    return subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False
    )


def test_the_window_shows_before_the_engine_is_imported():
    done = python(SHOW)
    assert done.returncode == 0, done.stderr
    assert not HEAVY & set(done.stdout.split())


def test_commands_go_to_the_engine_without_qt(example):
    done = python(COMMAND.format(words=["rank", str(example)]))
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


def test_an_unknown_command_is_wrong_usage():
    done = python(COMMAND.format(words=["reank"]))
    assert done.returncode == 2


@pytest.mark.parametrize("words", [["open"], ["open", "a", "b"], ["--smoke", "x"]])
def test_wrong_words_say_how(words, capsys):
    assert main(words) == 2
    assert "pull-once open FILE" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--smoke"], ["open", "{example}", "--smoke"]])
def test_smoke_run_shows_and_ends(words, example, tmp_path, monkeypatch):
    monkeypatch.setenv("PULL_ONCE_HOME", str(tmp_path))
    words = [word.format(example=example) for word in words]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "ui", *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    noise = [line for line in done.stderr.splitlines() if "propagateSizeHints" not in line]
    assert noise == []


def test_smoke_run_fails_with_unusable_knowledge(tmp_path, monkeypatch):
    monkeypatch.setenv("PULL_ONCE_HOME", str(tmp_path))
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "bad.yaml").write_text("causes: 3\n", encoding="utf-8")
    config = tmp_path / "config"
    config.mkdir()
    (config / "settings.json").write_text(f'{{"overlays": ["{shop}"]}}', encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "ui", "--smoke"],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 1
