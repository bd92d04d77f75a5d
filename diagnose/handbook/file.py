"""The handbook as a file."""

import contextlib
import secrets
from pathlib import Path

from diagnose.errors import PullOnceError
from diagnose.handbook.page import handbook
from knowledge.model import KnowledgeBase


class HandbookError(PullOnceError):
    """The handbook can't be written where it should be."""


def write_handbook(path: Path, base: KnowledgeBase) -> None:
    """Write the handbook of a base; a file that was there stays whole until the new one is.

    Raises
    ------
    HandbookError
        If it can't be written (no permission, disc full, folder gone). An old file is unchanged.
    """
    text = handbook(base)
    temporary = path.with_name(f".pull-once-{secrets.token_hex(8)}")
    try:
        with temporary.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
        temporary.replace(path)
    except OSError as error:
        said = (error.strerror or str(error)).lower()
        raise HandbookError(
            f"The handbook could not be written to {path}: {said}.",
            "Choose a folder that is there and that you may write to.",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()
