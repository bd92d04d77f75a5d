"""A report as a file."""

from pathlib import Path

from diagnose.errors import PullOnceError
from diagnose.plain_yaml import said, write_whole


class ReportError(PullOnceError):
    """The report can't be made, or not be written where it should be."""


def write_report(path: Path, content: bytes) -> None:
    """Write a report; a file that was there stays whole until the new one is.

    Raises
    ------
    ReportError
        If it can't be written (no permission, disc full, folder gone). An old file is unchanged.
    """
    try:
        write_whole(path, content)
    except OSError as error:
        raise ReportError(
            f"The report could not be written to {path}: {said(error)}.",
            "Choose a folder that is there and that you may write to.",
        ) from error
