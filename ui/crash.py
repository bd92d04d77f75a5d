"""What happens when the program itself is at fault: a report on this machine, and a sentence.

Nothing is sent anywhere. Gathering needs no window; only showing the sentence does.
"""

import faulthandler
import platform
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import TextIO

Hook = Callable[[type[BaseException], BaseException, TracebackType | None], None]


def report_text(kind: type[BaseException], error: BaseException, at: TracebackType | None) -> str:
    """Give the report: the system and where the error came from."""
    lines = "".join(traceback.format_exception(kind, error, at))
    return f"Pull Once on Python {platform.python_version()}, {platform.platform()}\n\n{lines}"


def hook(log: Path, tell: Callable[[str], None]) -> Hook:
    """Make an exception hook that writes the report and then tells where it is.

    Parameters
    ----------
    log : Path
    tell : callable
        Called with the place of the report, or why there is none.
    """

    def on_exception(
        kind: type[BaseException], error: BaseException, at: TracebackType | None
    ) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, at)
            return
        text = report_text(kind, error, at)
        if sys.stderr is not None:  # there is none in a program without a console
            sys.stderr.write(text)
        try:
            log.parent.mkdir(parents=True, exist_ok=True)
            log.write_text(text, encoding="utf-8")
            place = str(log)
        except OSError as unwritten:
            place = f"no file ({unwritten})"
        tell(place)

    return on_exception


def watch_hard_crashes(log: Path) -> TextIO | None:
    """Have crashes below Python written beside the report; None if that can't be done."""
    try:
        log.parent.mkdir(parents=True, exist_ok=True)
        file = log.with_suffix(".hard.log").open("w", encoding="utf-8")
    except OSError:
        return None
    faulthandler.enable(file)
    return file
