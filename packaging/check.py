"""Check everything: ``python3 packaging/check.py``, or only some steps: ``check.py lint tests``.

Makes the environment with the tools for development, runs every step even after one has failed,
and exits with 1 and the names of those that failed.
"""

import sys
from pathlib import Path

# This folder comes last on the import path: nothing in it may hide a module of Python's own.
HERE = str(Path(__file__).resolve().parent)
sys.path[:] = [folder for folder in sys.path if folder != HERE] + [HERE]

import oldest_python

oldest_python.require()

import argparse
import os
import subprocess
import time
from collections.abc import Mapping, Sequence

import environment
import system_packages

# What follows `python` in each step. The tests come last: their own summary ends the output. Their
# files are shared out among two processes; a file stays whole, for its fixtures are made once.
STEPS: Mapping[str, Sequence[str]] = {
    "format": ("-m", "ruff", "format", "--check"),
    "lint": ("-m", "ruff", "check"),
    "types": ("-m", "mypy"),
    "imports": ("-c", "from importlinter.cli import lint_imports_command as run; run()"),
    "knowledge": ("-m", "diagnose", "lint"),
    "tests": ("-m", "pytest", "--numprocesses=2", "--dist=loadfile"),
}
# Windows are drawn without a screen, and Qt keeps quiet about the locale. The arrays are small: two
# processes with one thread each are faster than threads that wait for each other.
VARIABLES = {
    "QT_QPA_PLATFORM": "offscreen",
    "LANG": "C.UTF-8",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
}


def run(name: str, command: Sequence[str | Path]) -> bool:
    """Run one step from the project's folder, announced with its time; return whether it passed."""
    print(f"\n{name}: running ...", flush=True)
    start = time.monotonic()
    status = subprocess.call(command, cwd=environment.ROOT, env={**os.environ, **VARIABLES})
    outcome = "ok" if status == 0 else f"FAILED with exit status {status}"
    print(f"{name}: {outcome}, {time.monotonic() - start:.1f} s", flush=True)
    return status == 0


def run_all(commands: Mapping[str, Sequence[str | Path]]) -> list[str]:
    """Run every step, whatever became of those before; return the names of the failed ones."""
    return [name for name, command in commands.items() if not run(name, command)]


def chosen(names: Sequence[str]) -> dict[str, Sequence[str]]:
    """Steps of these names in their own order; all of them if no name is given.

    Raises
    ------
    ValueError
        A name is not that of a step.
    """
    unknown = sorted(set(names) - set(STEPS))
    if unknown:
        raise ValueError(f"no step {', '.join(unknown)}: there are {', '.join(STEPS)}")
    return {name: words for name, words in STEPS.items() if not names or name in names}


def main(arguments: Sequence[str]) -> int:
    """Prepare, run the chosen steps, say which failed; return the exit status."""
    parser = argparse.ArgumentParser(description="Check the project.")
    parser.add_argument("steps", nargs="*", metavar="STEP", help=f"any of {', '.join(STEPS)}")
    try:
        steps = chosen(parser.parse_args(arguments).steps)
    except ValueError as error:
        parser.error(str(error))
    python = environment.prepare("dev")
    if system_packages.on_debian():
        # Without them only some tests fail, so the other steps run all the same.
        system_packages.ensure(system_packages.CHECKS)
    failed = run_all({name: (python, *words) for name, words in steps.items()})
    if failed:
        print(f"\nFailed: {', '.join(failed)}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("Stopped.")
