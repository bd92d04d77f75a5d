"""Case files opened by double click: what is laid down for it, and that it can be undone."""

import configparser
import os
import shutil
import subprocess
import sys
import time
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QLineEdit

from diagnose.case import Case
from diagnose.case_file import write_case_file
from diagnose.errors import PullOnceError
from tests.ui.test_office import alt, shown
from ui import double_click, file_type_linux, file_type_windows
from ui.__main__ import main
from ui.double_click import case_path, start_of, switch
from ui.mimeapps import ENTRY, GROUP, TYPE, with_default, without_default
from ui.views.settings_dialog import SettingsDialog

MIME = "{http://www.freedesktop.org/standards/shared-mime-info}"
LINE = f"{TYPE}={ENTRY}"
ASK_QT = """
import sys
from PySide6.QtCore import QMimeDatabase
for path in sys.argv[1:]:
    print(QMimeDatabase().mimeTypeForFile(path).name())
"""


@pytest.fixture
def homes(tmp_path, monkeypatch):
    """Folders of the user's own that are not there yet."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home" / "share"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home" / "config"))
    (tmp_path / "home").mkdir()
    return file_type_linux.homes(os.environ)


def tree(folder):
    """All that is in a folder: what files hold, and None for folders."""
    return {p: p.read_bytes() if p.is_file() else None for p in folder.rglob("*")}


def entry(homes):
    read = configparser.RawConfigParser(interpolation=None, strict=True)
    read.optionxform = str
    read.read(homes.entry, encoding="utf-8")
    return dict(read["Desktop Entry"])


def needs(tool):
    return pytest.mark.skipif(
        shutil.which(tool) is None, reason=f"{tool} is not installed: only the files are checked"
    )


def cases(folder):
    """One case under three names: ours, plain YAML, and one that says nothing."""
    names = ("van.pull-once.yaml", "van.yaml", "van")
    for name in names:
        write_case_file(folder / name, Case(title="A van"))
    return [folder / name for name in names]


class TestFiles:
    def test_the_type_is_a_mime_package_as_shared_mime_info_has_it(self, homes):
        switch(on=True, system="linux")
        root = ET.parse(homes.package).getroot()
        assert root.tag == f"{MIME}mime-info"
        (kind,) = root
        assert kind.get("type") == "application/x-pull-once-case"
        parents = {e.get("type") for e in kind.iter(f"{MIME}sub-class-of")}
        assert {"application/yaml", "text/plain"} <= parents
        (glob,) = kind.iter(f"{MIME}glob")
        assert glob.get("pattern") == f"*{double_click.ENDING}"
        assert int(glob.get("weight")) > 50  # what a pattern has that says nothing of it
        (match,) = kind.iter(f"{MIME}match")
        assert match.get("value") == "pull_once_case:"

    def test_the_magic_is_found_in_every_case_the_program_writes(self, homes, tmp_path):
        switch(on=True, system="linux")
        match = next(ET.parse(homes.package).getroot().iter(f"{MIME}match"))
        first, last = (int(end) for end in match.get("offset").split(":"))
        data = cases(tmp_path)[0].read_bytes()
        assert first <= data.index(match.get("value").encode()) <= last

    def test_the_desktop_entry_has_the_keys_of_an_application(self, homes):
        switch(on=True, system="linux")
        read = entry(homes)
        assert (read["Type"], read["Name"]) == ("Application", "Pull Once")
        assert read["MimeType"] == f"{TYPE};"
        assert read["Exec"].endswith(" %f")
        assert read["NoDisplay"] == "true"  # without a file there is nothing it could open

    def test_what_is_missing_is_said(self, homes, monkeypatch):
        monkeypatch.setenv("PATH", "")
        said = switch(on=True, system="linux")
        assert "update-mime-database is not installed" in said
        assert "update-desktop-database (package desktop-file-utils) is not installed" in said
        assert homes.package.exists()
        assert homes.entry.exists()

    def test_a_tool_that_fails_is_said(self, homes, monkeypatch, tmp_path):
        tool = tmp_path / "update-mime-database"
        tool.write_text("#!/bin/sh\nexit 3\n")
        tool.chmod(0o755)
        monkeypatch.setenv("PATH", str(tmp_path))
        assert "update-mime-database failed (status 3)." in switch(on=True, system="linux")

    def test_folders_that_are_no_whole_paths_do_not_count(self, monkeypatch, tmp_path):
        monkeypatch.setenv("HOME", str(tmp_path))
        found = file_type_linux.homes({"XDG_DATA_HOME": "here", "XDG_CONFIG_HOME": ""})
        assert found.data == tmp_path / ".local" / "share"
        assert found.config == tmp_path / ".config"


class TestUndone:
    def test_nothing_is_left_where_nothing_was(self, homes, tmp_path):
        switch(on=True, system="linux")
        switch(on=True, system="linux")  # twice: what was there before is not forgotten
        assert len(tree(tmp_path)) > 5
        assert "is gone" in switch(on=False, system="linux")
        assert tree(tmp_path) == {tmp_path / "home": None}
        assert "nothing to take back" in switch(on=False, system="linux")

    def test_what_others_have_stays_byte_for_byte(self, homes, tmp_path):
        other = homes.package.with_name("other.xml")
        other.parent.mkdir(parents=True)
        other.write_text(
            '<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">'
            '<mime-type type="application/x-other"><glob pattern="*.other"/></mime-type>'
            "</mime-info>"
        )
        homes.entry.parent.mkdir(parents=True)
        homes.entry.with_name("other.desktop").write_text(
            "[Desktop Entry]\nType=Application\nName=Other\nExec=other\nMimeType=text/plain;\n"
        )
        homes.config.mkdir(parents=True)
        homes.defaults.write_bytes(b"[Added Associations]\r\ntext/plain=other.desktop\r\n")
        list(file_type_linux._update(homes))
        before = tree(tmp_path)
        switch(on=True, system="linux")
        assert tree(tmp_path) != before
        switch(on=False, system="linux")
        assert tree(tmp_path) == before

    def test_what_others_wrote_since_stays(self, homes):
        switch(on=True, system="linux")
        own = homes.entry.with_name("own.desktop")
        own.write_text("[Desktop Entry]\nType=Application\nName=Own\nExec=own\n")
        text = homes.defaults.read_text()
        homes.defaults.write_text(f"{text}text/plain=own.desktop\n")
        switch(on=False, system="linux")
        assert own.exists()
        assert homes.defaults.read_text() == f"{GROUP}\ntext/plain=own.desktop\n"

    def test_a_list_that_is_no_text_is_left_alone(self, homes, tmp_path):
        homes.config.mkdir(parents=True)
        homes.defaults.write_bytes(b"\xff\xfe")
        before = tree(tmp_path)
        with pytest.raises(PullOnceError, match=r"no text in UTF-8"):
            switch(on=True, system="linux")
        assert tree(tmp_path) == before

    def test_a_list_that_is_a_link_stays_one(self, homes, tmp_path):
        kept = tmp_path / "kept.list"
        kept.write_text("")
        homes.config.mkdir(parents=True)
        link = homes.config / "mimeapps.list"
        link.symlink_to(kept)
        switch(on=True, system="linux")
        assert link.is_symlink()
        assert LINE in kept.read_text()
        switch(on=False, system="linux")
        assert link.is_symlink()
        assert kept.read_text() == ""

    @pytest.mark.parametrize("blocked", ["share", "config"])
    def test_a_folder_that_can_not_be_made_is_told(self, homes, tmp_path, blocked):
        (tmp_path / "home" / blocked).write_text("a file")
        with pytest.raises(PullOnceError, match=blocked):
            switch(on=True, system="linux")


class TestDefaults:
    """``mimeapps.list``, by mime-apps 1.0.1."""

    def test_ours_comes_first_and_the_others_stay(self):
        text = f"{GROUP}\n{TYPE}=editor.desktop;\n[Added Associations]\n{TYPE}=x.desktop\n"
        laid, new = with_default(text)
        assert laid == text.replace("=editor.desktop;", f"={ENTRY};editor.desktop")
        assert not new

    def test_the_same_type_in_another_group_is_not_ours(self):
        text = f"[Removed Associations]\n{LINE}\n"
        assert with_default(text) == (f"{text}{GROUP}\n{LINE}\n", True)
        assert without_default(text, group=False) == text

    @given(
        st.lists(
            st.sampled_from(
                [GROUP, "[Added Associations]", "", "# a note", "text/plain=a.desktop", "x=y\r"]
            )
        )
    )
    def test_taking_back_gives_the_text_from_before(self, lines):
        text = "\n".join(lines)
        laid, new = with_default(text)
        assert LINE in laid.split("\n")
        assert without_default(laid, group=new) == text


AWKWARD = [
    "plain",
    "with space",
    'a"b',
    "a'b",
    "$HOME",
    "`id`",
    "a\\b",
    "50%",
    "%f",
    "ünï;&|<>*?#()~",
]


class TestExec:
    def unquoted(self, value):
        """Undo the escapes of a string, then the quoting, as Desktop Entry 1.5 orders them."""
        escapes = {"\\": "\\", "s": " ", "n": "\n", "t": "\t", "r": "\r"}
        signs = iter(value)
        line = "".join(escapes[next(signs)] if sign == "\\" else sign for sign in signs)
        words, signs = [], iter(line)
        for sign in signs:
            if sign == " ":
                continue
            word = "" if sign == '"' else sign
            for inner in signs:
                if inner == ('"' if sign == '"' else " "):
                    break
                word += next(signs) if inner == "\\" and sign == '"' else inner
            words.append(word)
        return words

    @given(
        st.lists(st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"])), min_size=1)
    )
    def test_every_word_comes_back_from_the_quoting(self, arguments):
        words = ["/usr/bin/python3", *arguments]
        *got, file = self.unquoted(file_type_linux.exec_line(words))
        assert [word.replace("%%", "%") for word in got] == words
        assert all(word.replace("%%", "").count("%") == 0 for word in got)
        assert file == "%f"

    @pytest.mark.parametrize("program", ["/opt/a\nb/python", "/opt/\udcff/python"])
    def test_what_a_desktop_entry_can_not_name_is_told(self, program):
        with pytest.raises(PullOnceError, match="can't name this program"):
            file_type_linux.exec_line([program, "open"])

    @needs("gio")
    @pytest.mark.parametrize("name", AWKWARD)
    def test_the_desktop_starts_the_program_with_the_file(self, homes, tmp_path, name):
        """By GLib, which reads the entry, the type and the default by itself."""
        program, told = tmp_path / name / "pull once", tmp_path / "told"
        program.parent.mkdir()
        program.write_text(
            f'#!/bin/sh\nprintf "%s\\n" "$PWD" "$@" > "{told}.part"\nmv "{told}.part" "{told}"\n'
        )
        program.chmod(0o755)
        file_type_linux.switch_on(homes, [str(program), "-m", "ui", "open"], program.parent)
        case = tmp_path / "a $van %f.pull-once.yaml"
        write_case_file(case, Case(title="A van"))
        done = subprocess.run(
            ["gio", "launch", str(homes.entry), str(case)],
            capture_output=True,
            text=True,
            check=False,
            timeout=30,
        )
        end = time.monotonic() + 20
        while not told.exists() and time.monotonic() < end:
            time.sleep(0.02)
        assert told.exists(), done.stderr
        assert told.read_text().splitlines() == [str(program.parent), "-m", "ui", "open", str(case)]


class TestAsked:
    """The file's type, asked of readers that are not ours."""

    EXPECTED = (TYPE, "application/x-yaml", TYPE)  # as `cases` names them

    def types(self, command):
        switch(on=True, system="linux")
        done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
        last = [line.split()[-1] for line in done.stdout.splitlines() if line.strip()]
        kinds = [word for word in last if word.startswith(("application/", "text/"))]
        # YAML has a newer and an older name; which one a system uses is not ours to say.
        return [kind.replace("application/yaml", "application/x-yaml") for kind in kinds]

    def test_qt_knows_it_from_the_package_alone(self, homes, tmp_path):
        files = [str(path) for path in cases(tmp_path)]
        found = self.types([sys.executable, "-c", ASK_QT, *files])
        assert tuple(found) == self.EXPECTED

    @needs("update-mime-database")
    @needs("gio")
    def test_glib_knows_it_and_what_opens_it(self, homes, tmp_path):
        files = [str(path) for path in cases(tmp_path)]
        ask = ["gio", "info", "-a", "standard::content-type", *files]
        found = self.types(ask)
        assert tuple(found) == self.EXPECTED
        asked = subprocess.run(
            ["gio", "mime", TYPE], capture_output=True, text=True, check=True, timeout=60
        )
        assert ENTRY in asked.stdout.splitlines()[0]

    @needs("update-mime-database")
    @needs("gio")
    @needs("xdg-mime")
    def test_xdg_mime_knows_it_and_what_opens_it(self, homes, tmp_path, monkeypatch):
        monkeypatch.setenv("XDG_CURRENT_DESKTOP", "GNOME")  # without a desktop it asks no database
        file = str(cases(tmp_path)[0])
        assert self.types(["xdg-mime", "query", "filetype", file]) == [TYPE]
        asked = ["xdg-mime", "query", "default", TYPE]
        done = subprocess.run(asked, capture_output=True, text=True, check=True, timeout=60)
        assert done.stdout.strip() == ENTRY

    @needs("desktop-file-validate")
    def test_the_desktop_entry_passes_the_validator(self, homes):
        switch(on=True, system="linux")
        done = subprocess.run(
            ["desktop-file-validate", homes.entry], capture_output=True, text=True, check=False
        )
        assert (done.returncode, done.stdout) == (0, "")


class TestStart:
    def test_the_command_beside_the_interpreter_is_taken(self, tmp_path):
        script = tmp_path / "pull-once"
        script.write_text("")
        assert start_of(str(tmp_path / "python3"), "linux").words == (str(script), "open")

    def test_without_it_the_interpreter_is_started_where_the_program_is(self, tmp_path):
        start = start_of(str(tmp_path / "python3"), "linux")
        assert start.words == (str(tmp_path / "python3"), "-m", "ui", "open")
        assert Path(start.folder, "ui", "__main__.py").exists()

    @pytest.mark.parametrize(
        ("python", "system"), [("", "linux"), (r"C:\Python\python.exe", "win32")]
    )
    def test_what_can_not_be_started_is_told(self, python, system):
        with pytest.raises(PullOnceError, match="not installed beside Python"):
            start_of(python, system)


class Key:
    """A key of the registry: its values, by name."""

    def __init__(self):
        self.values = {}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        return None


class Registry:
    """Stands for ``winreg``: keys by their whole name, as that module refuses and counts them."""

    HKEY_CURRENT_USER, REG_SZ = "user", 1
    KEY_READ = KEY_WRITE = KEY_ALL_ACCESS = 0

    def __init__(self, *names):
        self.keys = {}
        for name in names:
            self.CreateKeyEx("user", name, 0, 0)

    def CreateKeyEx(self, _user, name, _reserved, _access):
        parts = name.split("\\")
        for count in range(1, len(parts) + 1):
            self.keys.setdefault("\\".join(parts[:count]), Key())
        return self.keys[name]

    def OpenKeyEx(self, _user, name, _reserved, _access):
        if name not in self.keys:
            raise FileNotFoundError(2, "no such key")
        return self.keys[name]

    def SetValueEx(self, key, name, _reserved, _kind, value):
        key.values[name] = value

    def QueryValueEx(self, key, name):
        if name not in key.values:
            raise FileNotFoundError(2, "no such value")
        return key.values[name], self.REG_SZ

    def QueryInfoKey(self, key):
        (own,) = (name for name, value in self.keys.items() if value is key)
        below = [n for n in self.keys if n.rpartition("\\")[0] == own]
        return len(below), len(key.values), 0

    def DeleteValue(self, key, name):
        if key.values.pop(name, None) is None:
            raise FileNotFoundError(2, "no such value")

    def DeleteKey(self, _user, name):
        if name not in self.keys:
            raise FileNotFoundError(2, "no such key")
        if any(n.startswith(name + "\\") for n in self.keys):
            raise PermissionError(13, "a key with keys below it")
        del self.keys[name]

    def held(self):
        return {name: dict(key.values) for name, key in self.keys.items()}


class TestWindows:
    """Through a stand-in for the registry: nothing here has run on Windows."""

    CLASSES = file_type_windows.CLASSES
    LIST = rf"{CLASSES}\.yaml\OpenWithProgids"

    @pytest.fixture
    def python(self, tmp_path):
        (tmp_path / "pull-once.exe").write_text("")
        return str(tmp_path / "python.exe")

    @pytest.fixture
    def registry(self, monkeypatch):
        made = Registry(self.CLASSES)
        monkeypatch.setitem(sys.modules, "winreg", made)
        return made

    def test_it_stands_among_those_that_open_the_ending(self, registry, python, tmp_path):
        said = switch(on=True, system="win32", python=python)
        assert "Open with" in said
        held = registry.held()
        assert "PullOnce.Case" in held[self.LIST]
        command = held[rf"{self.CLASSES}\PullOnce.Case\shell\open\command"][""]
        assert command == f'"{tmp_path / "pull-once.exe"}" open "%1"'
        assert "" not in held[rf"{self.CLASSES}\.yaml"]  # the ending is taken from nobody
        assert double_click.is_on("win32")

    @pytest.mark.parametrize("there", [(), (rf"{CLASSES}\.yaml",), (LIST,)])
    def test_undone_the_registry_is_as_before(self, registry, python, there):
        for name in there:
            registry.CreateKeyEx("user", name, 0, 0)
        before = registry.held()
        switch(on=True, system="win32", python=python)
        switch(on=True, system="win32", python=python)
        switch(on=False, system="win32", python=python)
        assert registry.held() == before
        assert "nothing to take back" in switch(on=False, system="win32", python=python)

    def test_what_others_put_there_since_stays(self, registry, python):
        switch(on=True, system="win32", python=python)
        registry.keys[self.LIST].values["Editor.File"] = ""
        switch(on=False, system="win32", python=python)
        assert registry.held()[self.LIST] == {"Editor.File": ""}

    def test_a_program_windows_would_misread_is_told(self):
        with pytest.raises(PullOnceError, match="has no '%'"):
            file_type_windows.command_line([r"C:\50%1\pull-once.exe", "open"])

    def test_a_registry_that_refuses_is_told(self, registry, python, monkeypatch):
        def refuse(*_):
            raise PermissionError(13, "Access is denied")

        monkeypatch.setattr(registry, "SetValueEx", refuse)
        with pytest.raises(PullOnceError, match=r"its registry: access is denied\."):
            switch(on=True, system="win32", python=python)


def test_macos_is_told_plainly_that_it_needs_an_app_bundle():
    with pytest.raises(PullOnceError, match="app bundle"):
        switch(on=True, system="darwin")
    assert not double_click.is_on("darwin")


class TestCommand:
    def test_it_says_what_it_did_and_takes_it_back(self, homes, capsys):
        assert main(["associate"]) == 0
        assert "open in Pull Once by double click" in capsys.readouterr().out
        assert file_type_linux.is_on(homes)
        assert main(["associate", "--remove"]) == 0
        assert not file_type_linux.is_on(homes)

    def test_a_known_error_is_one_sentence_and_status_1(self, homes, capsys):
        homes.data.write_text("a file")
        assert main(["associate"]) == 1
        assert "The system refused" in capsys.readouterr().err

    def test_other_words_are_refused(self, homes, tmp_path, capsys):
        assert main(["associate", "--away"]) == 2
        assert "associate [--remove]" in capsys.readouterr().err
        assert tree(tmp_path) == {tmp_path / "home": None}


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("van", "van.pull-once.yaml"),
        ("van.pull-once", "van.pull-once.yaml"),
        ("van.pull-once.yaml", "van.pull-once.yaml"),
        ("van.yaml", "van.yaml"),
        ("van.YML", "van.YML"),
        ("van 12.5", "van 12.5.pull-once.yaml"),
    ],
)
def test_a_case_is_written_under_our_ending_unless_it_is_yaml(typed, written):
    assert case_path(Path("/x", typed)) == Path("/x", written)


class TestWindow:
    def test_a_file_that_nobody_was_asked_about_is_not_written_over(self, at_bench, tmp_path):
        there = tmp_path / "van 1.5.pull-once.yaml"
        there.write_text("mine")
        at_bench.window.files.ask_save_path = lambda: str(tmp_path / "van 1.5")
        keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
        at_bench.press(Qt.Key.Key_S, keys)
        assert there.read_text() == "mine"
        assert "is there already" in at_bench.window.trouble.notice.accessibleName()

    def test_the_dialog_puts_our_ending_to_a_bare_name(self, at_bench, tmp_path):
        at_bench.window.settings = at_bench.window.settings.with_(last_folder=str(tmp_path))

        def type_name():
            dialog = QApplication.activeModalWidget()
            dialog.findChild(QLineEdit, "fileNameEdit").setText("van")
            dialog.accept()

        QTimer.singleShot(0, type_name)
        chosen = at_bench.window.files.ask_save_path()
        assert Path(chosen) == tmp_path / "van.pull-once.yaml"

    def test_the_settings_switch_it_on_and_off(self, driver, homes, tmp_path):
        driver.press(Qt.Key.Key_Comma, Qt.KeyboardModifier.ControlModifier)
        asked = shown(driver, SettingsDialog)
        for on in (True, False):
            alt(driver, Qt.Key.Key_D)
            driver.settle()
            assert file_type_linux.is_on(homes) is on
            assert asked.said.text().startswith("Files ending" if on else "Case files no longer")
            assert asked.double_click.text().startswith("No longer" if on else "Open")
        assert tree(tmp_path / "home") == {}
        homes.data.write_text("a file")
        alt(driver, Qt.Key.Key_D)
        driver.settle()
        assert asked.said.text().startswith("The system refused")
        driver.leave_dialog()
