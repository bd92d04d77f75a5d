"""A report as a file."""

import contextlib
import secrets
from pathlib import Path

from diagnose.errors import PullOnceError


class ReportError(PullOnceError):
    """The report can't be made, or not be written where it should be."""


def write_report(path: Path, content: bytes) -> None:
    """Write a report; a file that was there stays whole until the new one is.

    Raises
    ------
    ReportError
        If it can't be written (no permission, disc full, folder gone). An old file is unchanged.
    """
    temporary = path.with_name(f".pull-once-{secrets.token_hex(8)}")
    try:
        with temporary.open("xb") as file:
            file.write(content)
        temporary.replace(path)
    except OSError as error:
        said = (error.strerror or str(error)).lower()
        raise ReportError(
            f"The report could not be written to {path}: {said}.",
            "Choose a folder that is there and that you may write to.",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()
