"""The command ``pull-once``: the window, or a command of the engine.

``pull-once`` opens the window, ``pull-once open FILE`` opens it on a case file, ``pull-once
associate`` has the system do that by a double click. Every other first word is a command of
`diagnose.__main__`, which needs no window and imports none; only a report that is to be a PDF is
put on paper by `ui.report_pdf`.
"""

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.report import Paper, Report

_USAGE = (
    "usage: pull-once [--smoke]\n       pull-once open FILE [--smoke]\n"
    "       pull-once associate [--remove]\n       pull-once COMMAND ..."
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program.

    Parameters
    ----------
    argv : sequence of str, optional
        The words after the program's name; those of the process if left out.

    Returns
    -------
    int
        The exit status.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    if words and words[0] == "associate":
        return _associate(words[1:])
    if words and words[0] not in {"open", "--smoke"}:
        from diagnose.__main__ import main as run_command

        return run_command(words, pdf=_pdf, store=_store)
    smoke = "--smoke" in words
    rest = [word for word in words if word != "--smoke"]
    if len(rest) not in {0, 2}:
        print(_USAGE, file=sys.stderr)
        return 2
    from ui.app import run

    return run(Path(rest[1]) if rest else None, smoke=smoke)


def _associate(words: Sequence[str]) -> int:
    """Have case files opened by a double click, or no longer."""
    from diagnose.errors import PullOnceError
    from ui.double_click import switch

    if words not in ([], ["--remove"]):
        print(_USAGE, file=sys.stderr)
        return 2
    try:
        print(switch(on=not words))
    except PullOnceError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def _pdf(report: "Report", paper: "Paper") -> bytes:
    from ui.report_pdf import report_pdf

    return report_pdf(report, paper)


def _store() -> str:
    """Give the URL of the store as the window has it: the environment's, else the settings'."""
    from diagnose.records.store import default_url
    from ui.settings import places, read_settings

    settings = read_settings(places().settings)
    return os.environ.get("PULL_ONCE_STORE") or settings.store or default_url()


if __name__ == "__main__":
    sys.exit(main())
