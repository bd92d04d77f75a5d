"""A case file opened by a double click: the system is told of our files, or no longer.

``pull-once associate`` and the settings do it, each system in its own way: `ui.file_type_linux`,
`ui.file_type_windows`. Everything is the user's own; no rights of an administrator are needed.
"""

import importlib
import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ENDING = ".pull-once.yaml"
_YAML = (".yaml", ".yml")
_ON = f"Files ending in {ENDING} open in Pull Once by double click now."
_OFFERED = f"Pull Once is among the programs that open files ending in {ENDING} now."
_OFF = "Case files no longer open by double click; all that was laid down for it is gone."
_WAS_OFF = "Case files did not open by double click: nothing to take back."
_WINDOWS = "While the program is open, a case opened so gets a window of its own."


def case_path(chosen: Path) -> Path:
    """Give the path a case is written to.

    Parameters
    ----------
    chosen : Path
        As typed. The ending is added unless it is a YAML file already.

    Returns
    -------
    Path
    """
    if chosen.suffix.lower() in _YAML:
        return chosen
    return chosen.with_name(chosen.name.removesuffix(".pull-once") + ENDING)


@dataclass(frozen=True)
class Start:
    """How the program is started on a file: words before it, and in which folder."""

    words: tuple[str, ...]
    folder: Path | None = None


def start_of(python: str, system: str) -> Start:
    """Give how the program is started.

    Parameters
    ----------
    python : str
        Path of the interpreter, as in ``sys.executable``.
    system : str
        As in ``sys.platform``.

    Returns
    -------
    Start
        The command ``pull-once`` beside the interpreter if it is there; else the interpreter, in
        the folder that holds the program.

    Raises
    ------
    PullOnceError
        If neither can be started by the system.
    """
    script = Path(python).parent / ("pull-once.exe" if system == "win32" else "pull-once")
    if python and script.exists():
        return Start((str(script), "open"))
    if not python or system == "win32":  # its registry has no folder to start a program in
        from diagnose.errors import PullOnceError

        raise PullOnceError(
            "The command pull-once is not installed beside Python, so the system can't start it.",
            "Run `python packaging/start.py` once, or install the program with pip.",
        )
    return Start((python, "-m", "ui", "open"), Path(__file__).resolve().parent.parent)


def is_on(system: str = sys.platform) -> bool:
    """Whether the system was told of case files.

    Parameters
    ----------
    system : str
        As in ``sys.platform``.
    """
    if system == "darwin":
        return False
    if system == "win32":
        from ui import file_type_windows

        return file_type_windows.is_on(_registry())
    from ui import file_type_linux

    return file_type_linux.is_on(file_type_linux.homes(os.environ))


def switch(*, on: bool, system: str = sys.platform, python: str = sys.executable) -> str:
    """Tell the system of case files, or take that back.

    Parameters
    ----------
    on : bool
    system : str
        As in ``sys.platform``.
    python : str
        Path of the interpreter, as in ``sys.executable``.

    Returns
    -------
    str
        What was done, and what is missing.

    Raises
    ------
    PullOnceError
        If it can't be done.
    """
    from diagnose.errors import PullOnceError
    from diagnose.plain_yaml import said

    if system == "darwin":
        raise PullOnceError(
            "macOS opens files by double click only with a program that is an app bundle, which "
            "Pull Once is not here.",
            "Use `pull-once open FILE`, or Ctrl+O in the window.",
        )
    if not on and not is_on(system):
        return _WAS_OFF
    try:
        left = _switch_on(system, python) if on else _switch_off(system)
    except OSError as error:
        raise PullOnceError(
            f"The system refused: {error.filename or 'its registry'}: {said(error)}.",
            "See to it that it may be written, and do this once more.",
        ) from error
    done = _OFF if not on else _OFFERED if system == "win32" else _ON
    return " ".join(line for line in (done, left, _WINDOWS if on else "") if line)


def _switch_on(system: str, python: str) -> str:
    start = start_of(python, system)
    if system == "win32":
        from ui import file_type_windows

        return file_type_windows.switch_on(_registry(), start.words)
    from ui import file_type_linux

    return file_type_linux.switch_on(file_type_linux.homes(os.environ), start.words, start.folder)


def _switch_off(system: str) -> str:
    if system == "win32":
        from ui import file_type_windows

        return file_type_windows.switch_off(_registry())
    from ui import file_type_linux

    return file_type_linux.switch_off(file_type_linux.homes(os.environ))


def _registry() -> Any:
    """Give the module of the registry, which only Windows has."""
    return importlib.import_module("winreg")
