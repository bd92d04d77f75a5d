"""The case on the screen written to a file, to send or to keep."""

from pathlib import Path

from diagnose.case import Case
from diagnose.case_file import write_case_file
from diagnose.errors import CaseFileError
from diagnose.records.album import Album
from ui import messages
from ui.photos import exported


def write(path: Path, case: Case) -> None:
    """Write a case file, making its folder.

    Raises
    ------
    CaseFileError
        If it can't be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CaseFileError(
            f"The case could not be saved: the folder {path.parent} can't be made.",
            "Nothing is lost while the program is open: save it somewhere else (Ctrl+Shift+S).",
        ) from error
    write_case_file(path, case)


def write_with_photographs(path: Path, case: Case, album: Album, case_id: str) -> str:
    """Write a case file once more with the case's photographs; gives what to say of it, if any.

    Raises
    ------
    CaseFileError, StoreError
        If that can't be done; the file is as it was.
    """
    photos, said = exported(album, case_id)
    if photos:
        write_case_file(path, case, photos)
    return f"{messages.WRITTEN.format(path=path)} {said}" if said else ""
