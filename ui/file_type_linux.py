"""Case files on a freedesktop.org desktop: their type, what opens it, and all of that undone.

Four files of the user's own say it: a MIME package (shared-mime-info 0.21), a desktop entry
(Desktop Entry 1.5), a line in ``mimeapps.list`` (mime-apps 1.0.1), and the caches that two tools
make of the first two. The desktop entry also records what was not there before, so that undoing
leaves nothing behind.
"""

import json
import os
import re
import shutil
import subprocess
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from diagnose.errors import PullOnceError
from diagnose.plain_yaml import write_whole
from ui.mimeapps import ENTRY, GROUP, TYPE, with_default, without_default

_MADE = "X-Pull-Once-Made"

# A pattern of the same weight as *.yaml would win by its length only where both are read by the
# newer rules. YAML has had two names; the older one is still the only one known to many systems.
# The magic is for files whose name says nothing: a plain .yaml stays a YAML file.
_PACKAGE = f"""<?xml version="1.0" encoding="UTF-8"?>
<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">
  <mime-type type="{TYPE}">
    <comment>Case of Pull Once</comment>
    <generic-icon name="x-office-document"/>
    <sub-class-of type="application/yaml"/>
    <sub-class-of type="application/x-yaml"/>
    <sub-class-of type="text/plain"/>
    <magic priority="60">
      <match type="string" value="pull_once_case:" offset="0:256"/>
    </magic>
    <glob pattern="*.pull-once.yaml" weight="60"/>
  </mime-type>
</mime-info>
"""
# What update-mime-database makes beside packages/, as shared-mime-info lists it.
_MIME_CACHES = (
    *("aliases", "generic-icons", "globs", "globs2", "icons", "magic", "mime.cache"),
    *("namespaces", "subclasses", "treemagic", "types", "version", "XMLnamespaces"),
)
_LACKS = {
    "update-mime-database": (
        "update-mime-database is not installed: until the package shared-mime-info is there and "
        "this was done once more, file managers may not know the type."
    ),
    "update-desktop-database": (
        "update-desktop-database (package desktop-file-utils) is not installed: a double click "
        "does without it, but 'Open with' may not list the program."
    ),
}


@dataclass(frozen=True)
class Homes:
    """The user's own folders, as the XDG Base Directory specification names them."""

    data: Path
    config: Path

    @property
    def package(self) -> Path:
        """The file of the type."""
        return self.data / "mime" / "packages" / "pull-once-case.xml"

    @property
    def entry(self) -> Path:
        """The file of what opens it."""
        return self.data / "applications" / ENTRY

    @property
    def defaults(self) -> Path:
        """The user's list of what opens which type; where it is a link, what that leads to."""
        return (self.config / "mimeapps.list").resolve()


def homes(variables: Mapping[str, str]) -> Homes:
    """Give the user's folders.

    Parameters
    ----------
    variables : mapping
        The environment variables. One that is empty or no whole path does not count (XDG Base
        Directory 0.8).
    """

    def folder(name: str, usual: str) -> Path:
        given = Path(variables.get(name, ""))
        return given if given.is_absolute() else Path.home() / usual

    return Homes(folder("XDG_DATA_HOME", ".local/share"), folder("XDG_CONFIG_HOME", ".config"))


def exec_line(words: Sequence[str]) -> str:
    """Give the value of a desktop entry's ``Exec``, with the file at its end.

    Parameters
    ----------
    words : sequence of str
        The program and its arguments.

    Raises
    ------
    PullOnceError
        If the specification has no way to write them.
    """
    if any(not _writable(word) for word in words):
        raise PullOnceError(
            f"A desktop entry can't name this program: {words[0]!r}.",
            "Move it to a folder whose name has plain letters only.",
        )
    # The specification bars "=" from the program's name, and GLib looks for it with "%%" as it is.
    through = ["sh", "-c", 'exec "$0" "$@"'] if {"=", "%"} & set(words[0]) else []
    words = [*through, *words]
    return _escaped(" ".join([*(_quoted(word) for word in words), "%f"]))


def _writable(word: str) -> bool:
    return all(sign >= " " and not "\ud800" <= sign <= "\udfff" for sign in word)


def _quoted(word: str) -> str:
    inside = re.sub(r'(["`$\\])', r"\\\1", word).replace("%", "%%")
    return f'"{inside}"'


def _escaped(value: str) -> str:
    """Escape a value of the type string, which comes on top of the quoting of ``Exec``."""
    return value.replace("\\", "\\\\")


def is_on(at: Homes) -> bool:
    """Whether case files are opened by the program, or a part of that was left behind."""
    return at.entry.exists() or at.package.exists()


def switch_on(at: Homes, words: Sequence[str], folder: Path | None) -> str:
    """Let case files be opened by the program.

    Parameters
    ----------
    at : Homes
    words : sequence of str
        The program and its arguments; the file comes after them.
    folder : Path, optional
        Where it has to be started.

    Returns
    -------
    str
        What is missing, in sentences; empty if nothing is.

    Raises
    ------
    PullOnceError
        If a desktop entry can't name the program, or the user's list is no text.
    OSError
        If something can't be written.
    """
    line, before = exec_line(words), _read(at.defaults)
    text, new_group = with_default(before)
    made = [*_recorded(at), *_missing(at), *([GROUP] if new_group else [])]
    for file in (at.entry, at.package, at.defaults):
        file.parent.mkdir(parents=True, exist_ok=True)
    write_whole(at.entry, _entry(line, folder, made))
    write_whole(at.package, _PACKAGE)
    if text != before:
        write_whole(at.defaults, text)
    return " ".join(_update(at))


def switch_off(at: Homes) -> str:
    """Undo `switch_on`; what others wrote in the meantime stays.

    Parameters
    ----------
    at : Homes

    Returns
    -------
    str
        What could not be brought up to date, in sentences; empty if nothing.

    Raises
    ------
    PullOnceError
        If the user's list is no text.
    OSError
        If something can't be removed.
    """
    made = _recorded(at)
    before = _read(at.defaults)
    text = without_default(before, group=GROUP in made)
    if text != before:
        write_whole(at.defaults, text)
    if not text and str(at.defaults) in made:
        at.defaults.unlink(missing_ok=True)
    at.package.unlink(missing_ok=True)
    at.entry.unlink(missing_ok=True)  # last: until then it can be tried once more
    lacks = list(_update(at))
    _clear(at, made)
    return " ".join(line for line in lacks if line not in _LACKS.values())


def _entry(line: str, folder: Path | None, made: Iterable[str]) -> str:
    """Give the desktop entry; it stays out of menus, since it needs a file."""
    path = [] if folder is None else [f"Path={_escaped(str(folder))}"]
    record = json.dumps(list(dict.fromkeys(made)))
    lines = [
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.0",
        "Name=Pull Once",
        "Comment=Find out why a freshly installed clutch came back",
        f"Exec={line}",
        *path,
        "Terminal=false",
        "NoDisplay=true",
        f"MimeType={TYPE};",
        f"{_MADE}={_escaped(record)}",
    ]
    return "\n".join(lines) + "\n"


def _recorded(at: Homes) -> list[str]:
    """Give what was not there before, as the desktop entry has it."""
    for line in _read(at.entry).splitlines():
        key, _, value = line.partition("=")
        if key == _MADE:
            try:
                record = json.loads(value.replace("\\\\", "\\"))
            except ValueError:  # somebody edited it: then nothing more than our files is removed
                return []
            return [str(name) for name in record] if isinstance(record, list) else []
    return []


def _missing(at: Homes) -> list[str]:
    """Give the files and folders that are not there yet, of all that may be made."""
    caches = _caches(at)
    media = at.data / "mime" / TYPE.partition("/")[0]
    files = [at.entry, at.package, at.defaults, *caches, media / "any"]
    folders = [folder for file in files for folder in file.parents]
    wanted = dict.fromkeys([at.defaults, *caches, *folders])
    return [str(path) for path in wanted if not path.exists()]


def _caches(at: Homes) -> list[Path]:
    mime = [at.data / "mime" / name for name in _MIME_CACHES]
    return [*mime, at.entry.parent / "mimeinfo.cache"]


def _clear(at: Homes, made: Sequence[str]) -> None:
    """Remove caches of nothing and empty folders, as far as they were not there before."""
    (at.data / "mime" / f"{TYPE}.xml").unlink(missing_ok=True)
    sources = {at.data / "mime": "packages/*.xml", at.entry.parent: "*.desktop"}
    for cache in _caches(at):
        if str(cache) in made and not any(cache.parent.glob(sources[cache.parent])):
            cache.unlink(missing_ok=True)
    for name in sorted(made, key=len, reverse=True):  # the inner ones first
        folder = Path(name)
        if folder.is_absolute() and folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()


def _read(path: Path) -> str:
    """Give a text file as it is, with its line ends; empty if there is none."""
    try:
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError as error:
        raise PullOnceError(
            f"{path.name} in {path.parent} is no text in UTF-8, so it was left alone.",
            "Mend or move it, and do this once more.",
        ) from error


def _update(at: Homes) -> Iterable[str]:
    """Bring the caches up to date; yields what is missing."""
    folders = {
        "update-mime-database": at.data / "mime",
        "update-desktop-database": at.entry.parent,
    }
    for tool, folder in folders.items():
        found = shutil.which(tool)
        if found is None:
            yield _LACKS[tool]
        elif folder.is_dir():
            asked = [found, os.fspath(folder)]
            try:
                done = subprocess.run(asked, capture_output=True, check=False, timeout=120)
            except subprocess.TimeoutExpired:
                yield f"{tool} took too long and was broken off."
                continue
            if done.returncode:
                yield f"{tool} failed (status {done.returncode})."
