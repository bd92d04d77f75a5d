"""What waits to be sent, as records and as rows of the outbox."""

import json
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from diagnose.case import Case
from diagnose.records.errors import StoreError
from diagnose.records.kept import State
from diagnose.records.patches import data_of

ITEM = 'token, case_id, seen, content, base, was, state, "by", at, refused'
"""The columns of `item_from`."""

PHOTO = 'place, token, case_id, content, length(picture), "by", at, refused'
"""The columns of `photo_from`."""

_TEXTS = ("name", "caption", "kind", "sha256")  # of a photograph, in its content


@dataclass(frozen=True)
class Item:
    """A change of a case that waits to be sent.

    Attributes
    ----------
    token, case_id : str
    seen : int or None
        The change the seat knew; None for a case that is new.
    case : Case
    base : Case or None
        What the seat began with, where the server never held it.
    was, state : State
        How far the case was, as the seat saw it, and how far it says it is now.
    by, at : str
    refused : str
        Why the server's store did not take it; empty while it was not tried.
    """

    token: str
    case_id: str
    seen: int | None
    case: Case
    base: Case | None
    was: State
    state: State
    by: str
    at: str
    refused: str = ""


@dataclass(frozen=True)
class PhotoItem:
    """A photograph that waits to be sent; its bytes are asked for apart.

    Attributes
    ----------
    place : int
        Where it stands among all that waits, from 1.
    token, case_id, name, caption, kind, sha256 : str
        `kind` is "jpeg" or "png".
    size : int
        Bytes.
    by, at : str
    refused : str
        As that of an `Item`.
    """

    place: int
    token: str
    case_id: str
    name: str
    caption: str
    kind: str
    sha256: str
    size: int
    by: str
    at: str
    refused: str = ""


def item_from(row: tuple[Any, ...]) -> Item:
    """Give a change from its row.

    Raises
    ------
    StoreError
        If a newer program wrote it.
    """
    token, case_id, seen, content, base, was, state, by, at, refused = row
    began = None if base is None else _case(base)
    return Item(
        token, case_id, seen, _case(content), began, State(was), State(state), by, at, refused
    )


def photo_from(row: tuple[Any, ...]) -> PhotoItem:
    """Give a photograph from its row."""
    place, token, case_id, content, size, by, at, refused = row
    told = json.loads(content)
    name, caption, kind, digest = (str(told[text]) for text in _TEXTS)
    return PhotoItem(place, token, case_id, name, caption, kind, digest, size, by, at, refused)


def photo_text(*texts: str) -> str:
    """Give what is written of a photograph: name, caption, kind and digest."""
    return json.dumps(dict(zip(_TEXTS, texts, strict=True)))


def case_text(case: Case) -> str:
    """Give what is written of a case."""
    return json.dumps(data_of(case))


def _case(text: str) -> Case:
    try:
        return Case.model_validate(json.loads(text))
    except ValidationError as error:
        raise StoreError(
            "A change that waits for the server holds something that this version of the program "
            "does not know.",
            "Update the program; what waits is unchanged.",
        ) from error
