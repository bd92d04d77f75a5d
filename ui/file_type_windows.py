"""Case files on Windows: the program among those that open the ending, and that undone.

Windows goes by what follows the last dot, so ``.pull-once.yaml`` has no entry of its own. The
program therefore stands among those that open ``.yaml`` and takes the ending from nobody; which of
them a double click starts is for the user to choose, and Windows asks once.
"""

import contextlib
import subprocess
from collections.abc import Sequence
from pathlib import PureWindowsPath
from typing import Any

from diagnose.errors import PullOnceError

CLASSES = r"Software\Classes"
NAME = "PullOnce.Case"
_CLASS = rf"{CLASSES}\{NAME}"
_OURS = (rf"{_CLASS}\shell\open\command", rf"{_CLASS}\shell\open", rf"{_CLASS}\shell", _CLASS)
_MADE = "Made"
_ENDING = rf"{CLASSES}\.yaml"
_LIST = rf"{_ENDING}\OpenWithProgids"


def command_line(words: Sequence[str]) -> str:
    r"""Give the value of ``shell\open\command``, with the file at its end.

    Parameters
    ----------
    words : sequence of str
        The program and its arguments.

    Raises
    ------
    PullOnceError
        If the program's folder has a percent sign, which Windows would put something else for.
    """
    if any("%" in word for word in words):
        raise PullOnceError(
            f"Windows can't start this program from its registry: {PureWindowsPath(words[0])}.",
            "Move it to a folder whose name has no '%'.",
        )
    program, *rest = words
    return " ".join([f'"{program}"', subprocess.list2cmdline(rest), '"%1"'])


def is_on(registry: Any) -> bool:
    """Whether the program stands among those that open case files.

    Parameters
    ----------
    registry : module
        ``winreg``, or what stands for it.
    """
    return _there(registry, _OURS[0])


def switch_on(registry: Any, words: Sequence[str]) -> str:
    """Put the program among those that open case files.

    Parameters
    ----------
    registry : module
        ``winreg``, or what stands for it.
    words : sequence of str
        The program and its arguments.

    Returns
    -------
    str
        What the user has to do.

    Raises
    ------
    PullOnceError
        If the program can't be named there.
    OSError
        If the registry refuses.
    """
    line = command_line(words)
    missing = [name for name in (_LIST, _ENDING) if not _there(registry, name)]
    made = ";".join(dict.fromkeys([*_recorded(registry), *missing]))
    values = (
        (_CLASS, "", "Case of Pull Once"),
        (_CLASS, _MADE, made),
        (_OURS[0], "", line),
        (_LIST, NAME, ""),
    )
    for name, value, text in values:
        with registry.CreateKeyEx(registry.HKEY_CURRENT_USER, name, 0, registry.KEY_WRITE) as key:
            registry.SetValueEx(key, value, 0, registry.REG_SZ, text)
    return (
        "Windows goes by .yaml alone: the first time pick Pull Once under 'Open with', "
        "'Choose another app', and tick 'Always' if it is to open every .yaml file."
    )


def switch_off(registry: Any) -> str:
    """Undo `switch_on`; keys of the ending stay if anything else is in them.

    Parameters
    ----------
    registry : module
        ``winreg``, or what stands for it.

    Returns
    -------
    str
        Empty: nothing is left to do.

    Raises
    ------
    OSError
        If the registry refuses.
    """
    user = registry.HKEY_CURRENT_USER
    if _there(registry, _LIST):
        key = registry.OpenKeyEx(user, _LIST, 0, registry.KEY_ALL_ACCESS)
        with key, contextlib.suppress(FileNotFoundError):
            registry.DeleteValue(key, NAME)
    made = _recorded(registry)
    for name in _OURS:
        if _there(registry, name):
            registry.DeleteKey(user, name)
    for name in (_LIST, _ENDING):
        if name in made and _is_empty(registry, name):
            registry.DeleteKey(user, name)
    return ""


def _there(registry: Any, name: str) -> bool:
    try:
        with registry.OpenKeyEx(registry.HKEY_CURRENT_USER, name, 0, registry.KEY_READ):
            return True
    except FileNotFoundError:
        return False


def _recorded(registry: Any) -> list[str]:
    """Give the keys of the ending that were not there before."""
    try:
        user = registry.HKEY_CURRENT_USER
        with registry.OpenKeyEx(user, _CLASS, 0, registry.KEY_READ) as key:
            return str(registry.QueryValueEx(key, _MADE)[0]).split(";")
    except FileNotFoundError:
        return []


def _is_empty(registry: Any, name: str) -> bool:
    if not _there(registry, name):
        return False
    with registry.OpenKeyEx(registry.HKEY_CURRENT_USER, name, 0, registry.KEY_READ) as key:
        keys, values, _ = registry.QueryInfoKey(key)
    return bool(keys == 0 and values == 0)
