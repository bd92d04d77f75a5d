"""The virtual environment both scripts run in: made once, brought up to date when it must be."""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

import system_packages

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv"
STAMP = FOLDER / "pull-once.stamp"


def python_of(folder: Path, system: str = os.name) -> Path:
    """Path of the interpreter in a virtual environment, on a system named as in ``os.name``."""
    return folder / "Scripts" / "python.exe" if system == "nt" else folder / "bin" / "python"


def digest(pyproject: bytes, python: str, root: str) -> str:
    """Fingerprint of all that decides what has to be installed.

    Parameters
    ----------
    pyproject : bytes
        Content of pyproject.toml: the dependencies.
    python : str
        Version of the interpreter, with its build.
    root : str
        Folder the project lies in: an editable install points there.
    """
    parts = (pyproject, python.encode(), root.encode())
    return hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()


def is_current(stamp: str, fingerprint: str, extra: str) -> bool:
    """Whether an environment with this stamp holds what the fingerprint asks, and the extra."""
    found, *extras = stamp.split() or [""]
    return found == fingerprint and (not extra or extra in extras)


def prepare(extra: str = "") -> Path:
    """Make or refresh the environment, telling what is done, and return its interpreter.

    Parameters
    ----------
    extra : str
        Optional dependencies to install as well, as named in pyproject.toml.

    Raises
    ------
    SystemExit
        The environment could not be made; the message says what to do.
    """
    python = python_of(FOLDER)
    fingerprint = digest((ROOT / "pyproject.toml").read_bytes(), sys.version, str(ROOT))
    stamp = STAMP.read_text() if STAMP.exists() else ""
    if python.exists() and is_current(stamp, fingerprint, extra):
        return python
    STAMP.unlink(missing_ok=True)
    make(python)
    install(python, extra)
    STAMP.write_text(f"{fingerprint} {extra}\n")
    return python


def make(python: Path) -> None:
    """Make the environment, anew if the one that is there is not this Python's or broken."""
    other = FOLDER.exists() and version_of(python) != sys.version
    if other:
        print("The environment in .venv is not this Python's: making it anew ...", flush=True)
    elif not FOLDER.exists():
        print("Making an environment in .venv ...", flush=True)
    # pip comes later and only if uv is not there: it takes most of the time.
    venv.EnvBuilder(clear=other, symlinks=os.name != "nt", with_pip=False).create(FOLDER)


def version_of(python: Path) -> str:
    """``sys.version`` of an interpreter; empty if it does not run."""
    try:
        shown = subprocess.run(
            [python, "-c", "import sys; print(sys.version)"],
            capture_output=True,
            text=True,
            check=True,
        )
    except (OSError, subprocess.CalledProcessError):
        return ""
    return shown.stdout.removesuffix("\n")


def install(python: Path, extra: str) -> None:
    """Install the project, editable, with uv if it is on the path and works, else with pip."""
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    # A bar on a terminal, nothing in a log.
    quiet = [] if sys.stdout.isatty() else ["--quiet"]
    print("Installing Pull Once; the first time fetches about 100 MB ...", flush=True)
    uv = shutil.which("uv")
    if uv is not None:
        command = [uv, "pip", "install", *quiet, "--python", str(python), "--editable", target]
        if subprocess.call(command) == 0:
            return
        print("uv could not install it: trying pip ...", flush=True)
    add_pip(python)
    command = [str(python), "-m", "pip", "install", "--disable-pip-version-check", *quiet]
    if subprocess.call([*command, "--editable", target]):
        sys.exit("The installation failed; the lines above say why. Is the network reachable?")


def add_pip(python: Path) -> None:
    """Put pip into the environment if it is not there yet."""
    asked = subprocess.run([python, "-m", "pip", "--version"], capture_output=True, check=False)
    if asked.returncode == 0:
        return
    # Debian keeps the module that brings pip in a package of its own.
    if importlib.util.find_spec("ensurepip") is None and not system_packages.ensure(
        [f"python{sys.version_info.major}.{sys.version_info.minor}-venv"]
    ):
        sys.exit(
            "This Python lacks its module ensurepip, which brings pip: add it and start again."
        )
    print("Putting pip into it ...", flush=True)
    done = subprocess.run(
        [python, "-m", "ensurepip", "--default-pip"], capture_output=True, text=True, check=False
    )
    if done.returncode:
        sys.exit(f"{done.stdout}{done.stderr}pip could not be put into the environment.")
