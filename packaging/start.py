"""Start Pull Once on a fresh machine: ``python3 packaging/start.py``.

Makes what is needed (environment, dependencies, Debian's system libraries), saying so, and opens
the example case in the window; where there is no screen, prints its diagnosis in the terminal.
Further arguments are passed on.
"""

import sys
from pathlib import Path

# This folder comes last on the import path: nothing in it may hide a module of Python's own.
HERE = str(Path(__file__).resolve().parent)
sys.path[:] = [folder for folder in sys.path if folder != HERE] + [HERE]

import oldest_python

oldest_python.require()

import os
import re
import subprocess
from collections.abc import Mapping, Sequence
from typing import NoReturn

import environment
import system_packages

EXAMPLE = environment.ROOT / "knowledge" / "examples" / "example.yaml"
TRY_QT = "from PySide6.QtWidgets import QApplication; QApplication([])"
# Qt names this library whichever of the X11 ones is missing.
QT_BLAMES = "libxcb-cursor0"


def has_display(system: str, variables: Mapping[str, str]) -> bool:
    """Whether a window can be expected to show.

    Parameters
    ----------
    system : str
        As in ``sys.platform``.
    variables : mapping
        The environment variables. A Qt platform chosen by the user is taken at their word.
    """
    if system in {"win32", "darwin"}:
        return True
    names = ("QT_QPA_PLATFORM", "DISPLAY", "WAYLAND_DISPLAY")
    return any(variables.get(name) for name in names)


def display_refused(complaint: str) -> bool:
    """Whether Qt has its libraries and could not reach the screen."""
    return "could not connect to display" in complaint


def missing_library(complaint: str) -> str:
    """The system library that Qt says it lacks; empty if it complains of something else."""
    named = re.search(r"ImportError: (\S+\.so[.\d]*): cannot open shared object", complaint)
    if named:
        return named.group(1)
    # Qt also blames the library, beside the true reason, if the screen refuses it.
    return QT_BLAMES if QT_BLAMES in complaint and not display_refused(complaint) else ""


def try_qt(python: Path) -> str:
    """What Qt complains of when an application is made; empty if it does not."""
    tried = subprocess.run([python, "-c", TRY_QT], capture_output=True, text=True, check=False)
    return tried.stderr if tried.returncode else ""


def try_qt_with_libraries(python: Path) -> str:
    """Try Qt, installing the system libraries it lacks; exit if that is for the user to do."""
    complaint = try_qt(python)
    library = missing_library(complaint)
    if not library:
        return complaint
    print(f"Qt lacks a library of the system: {library}.", flush=True)
    if system_packages.ensure(system_packages.WINDOW):
        return try_qt(python)
    if not system_packages.on_debian():
        print("Install what your system calls these packages of Debian:", flush=True)
        print(f"  {' '.join(system_packages.WINDOW)}", flush=True)
    sys.exit("Then start again.")


def in_terminal(python: Path, arguments: Sequence[str]) -> int:
    """Print the example's diagnosis and the advice on it; return the first failing exit status."""
    for command in ("rank", "advise"):
        print(f"\npull-once: {command}", flush=True)
        status = subprocess.call(
            [python, "-P", "-m", "diagnose", command, str(EXAMPLE), *arguments]
        )
        if status:
            return status
    return 0


def in_window(python: Path, arguments: Sequence[str]) -> NoReturn:
    """Become the program itself; on Windows, which has no exec, wait for it."""
    command = [str(python), "-P", "-m", "ui", "open", str(EXAMPLE), *arguments]
    if os.name == "nt":
        sys.exit(subprocess.call(command))
    os.execv(command[0], command)


def main(arguments: Sequence[str]) -> int:
    """Prepare, then show the example; return the exit status."""
    python = environment.prepare()
    if not has_display(sys.platform, os.environ):
        print("No screen was found; here is the same diagnosis in words.", flush=True)
        return in_terminal(python, arguments)
    complaint = try_qt_with_libraries(python)
    if not complaint:
        in_window(python, arguments)
    if display_refused(complaint):
        print("The screen could not be reached; here is the same diagnosis in words.", flush=True)
        return in_terminal(python, arguments)
    sys.exit(
        f"{complaint}\nQt does not start here, so there is no window. "
        "If it did before, remove the folder .venv and start again."
    )


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("Stopped.")
