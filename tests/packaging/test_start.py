"""start.py: what it does with and without a screen, and with what Qt complains of."""

import os
import sys
from pathlib import Path

import pytest

NO_LIBRARY = (
    'Traceback (most recent call last):\n  File "<string>", line 1, in <module>\n'
    "ImportError: libGL.so.1: cannot open shared object file: No such file or directory\n"
)
NO_X11_LIBRARY = (
    "qt.qpa.plugin: From 6.5.0, xcb-cursor0 or libxcb-cursor0 is needed to load the Qt xcb "
    'platform plugin.\nqt.qpa.plugin: Could not load the Qt platform plugin "xcb" in "" even '
    "though it was found.\n"
)
NO_SCREEN = f"qt.qpa.xcb: could not connect to display :99\n{NO_X11_LIBRARY}"
NO_PLATFORM = 'qt.qpa.plugin: Could not find the Qt platform plugin "nonsense" in ""\n'
NO_MODULE = "ModuleNotFoundError: No module named 'PySide6'\n"


class TestStart:
    @pytest.mark.parametrize(
        ("system", "variables", "expected"),
        [
            ("linux", {}, False),
            ("linux", {"DISPLAY": ""}, False),
            ("linux", {"DISPLAY": ":0"}, True),
            ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
            ("linux", {"QT_QPA_PLATFORM": "offscreen"}, True),
            ("darwin", {}, True),
            ("win32", {}, True),
        ],
    )
    def test_display(self, script, system, variables, expected):
        assert script("start").has_display(system, variables) is expected

    @pytest.mark.parametrize(
        ("complaint", "library", "refused"),
        [
            (NO_LIBRARY, "libGL.so.1", False),
            (NO_X11_LIBRARY, "libxcb-cursor0", False),
            (NO_SCREEN, "", True),
            (NO_PLATFORM, "", False),
            (NO_MODULE, "", False),
            ("", "", False),
        ],
    )
    def test_complaints_of_qt(self, script, complaint, library, refused):
        start = script("start")
        assert start.missing_library(complaint) == library
        assert start.display_refused(complaint) is refused

    def test_qt_is_really_tried(self, script, monkeypatch):
        start = script("start")
        monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
        assert start.try_qt(Path(sys.executable)) == ""
        monkeypatch.setenv("QT_QPA_PLATFORM", "nonsense")
        assert NO_PLATFORM in start.try_qt(Path(sys.executable))

    @pytest.fixture
    def started(self, script, monkeypatch):
        """Start with stand-ins for installing and running; the commands end up in the list."""
        start = script("start")
        commands = []
        monkeypatch.setattr(start.environment, "prepare", lambda: Path("python"))
        monkeypatch.setattr(start.subprocess, "call", lambda words: commands.append(words) or 0)
        monkeypatch.setattr(start.os, "execv", lambda _, words: commands.append(words))
        for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
            monkeypatch.delenv(name, raising=False)
        monkeypatch.setattr(start.sys, "platform", "linux")
        return start, commands

    def test_without_a_screen_the_diagnosis_is_printed(self, started, capsys):
        start, commands = started
        assert start.main(["--extra"]) == 0
        assert [words[3:] for words in commands] == [
            ["diagnose", "rank", str(start.EXAMPLE), "--extra"],
            ["diagnose", "advise", str(start.EXAMPLE), "--extra"],
        ]
        assert "No screen" in capsys.readouterr().out

    def test_a_refused_screen_is_the_same_as_none(self, started, monkeypatch, capsys):
        start, commands = started
        monkeypatch.setenv("DISPLAY", ":99")
        monkeypatch.setattr(start, "try_qt", lambda _: NO_SCREEN)
        assert start.main([]) == 0
        assert [words[4] for words in commands] == ["rank", "advise"]
        assert "could not be reached" in capsys.readouterr().out

    def test_a_failed_diagnosis_is_the_exit_status(self, started, monkeypatch):
        start, _ = started
        monkeypatch.setattr(start.subprocess, "call", lambda _: 3)
        assert start.main([]) == 3

    def test_missing_libraries_are_installed_and_qt_is_tried_again(self, started, monkeypatch):
        start, _ = started
        complaints = [NO_LIBRARY, ""]
        asked = []
        monkeypatch.setattr(start, "try_qt", lambda _: complaints.pop(0))
        monkeypatch.setattr(start.system_packages, "ensure", lambda names: asked.append(names) or 1)
        assert start.try_qt_with_libraries(Path("python")) == ""
        assert asked == [start.system_packages.WINDOW]

    def test_libraries_left_to_the_user_end_the_start(self, started, monkeypatch, capsys):
        start, commands = started
        monkeypatch.setenv("DISPLAY", ":0")
        monkeypatch.setattr(start, "try_qt", lambda _: NO_LIBRARY)
        monkeypatch.setattr(start.system_packages, "ensure", lambda _: False)
        with pytest.raises(SystemExit, match="start again"):
            start.main([])
        assert "libGL.so.1" in capsys.readouterr().out
        assert commands == []

    @pytest.mark.skipif(os.name == "nt", reason="Windows has no exec")
    def test_with_a_screen_the_window_opens(self, started, monkeypatch):
        start, commands = started
        monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
        monkeypatch.setattr(start, "try_qt", lambda _: "")
        start.in_window(Path("python"), ["--extra"])
        assert commands == [["python", "-P", "-m", "ui", "open", str(start.EXAMPLE), "--extra"]]
