"""Pictures that belong to a case: bytes kept once, by their digest."""

from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, select, text, update

from diagnose.records.errors import StoreError
from diagnose.records.kept import Photo
from diagnose.records.ledger import Act, added, clean
from diagnose.records.photo_file import kind_by_bytes
from diagnose.records.tables import photos, pictures

MAX_BYTES = 10 * 2**20
MAX_PHOTOS = 60
_NAME, _CAPTION = 120, 2000


def kind_of(data: bytes) -> str:
    """Give the kind of a picture by its bytes: "jpeg" or "png".

    Raises
    ------
    StoreError
        If it is another kind, or too large.
    """
    if len(data) > MAX_BYTES:
        raise StoreError(
            f"The photo has {len(data) / 2**20:.0f} MB; up to {MAX_BYTES // 2**20} MB are kept.",
            "Make it smaller and add it again.",
        )
    kind = kind_by_bytes(data)
    if not kind:
        raise StoreError("This file is neither a JPEG nor a PNG picture.", "Choose another one.")
    return kind


def add(connection: Connection, row: int, data: bytes, texts: tuple[str, str], who: Act) -> int:
    """Write a picture of a case and give its id; `texts` are name and caption.

    Raises
    ------
    StoreError
        If the case has too many, or this is none that is kept.
    """
    kind, digest = kind_of(data), sha256(data).hexdigest()
    there = listed(connection, row)
    if len(there) >= MAX_PHOTOS:
        raise StoreError(
            f"The case has {MAX_PHOTOS} photos already; that is as many as are kept.",
            "Take one away first.",
        )
    connection.execute(
        text(
            "INSERT INTO pictures (sha256, data) VALUES (:digest, :data) "
            "ON CONFLICT (sha256) DO NOTHING"
        ),
        {"digest": digest, "data": data},
    )
    photo = {
        "case_row": row,
        "sha256": digest,
        "name": _fit(texts[0], _NAME),
        "caption": _fit(texts[1], _CAPTION),
        "kind": kind,
        "size": len(data),
        "by": who.by,
        "at": who.at,
    }
    return added(connection, photos, photo)


def caption(connection: Connection, photo: Photo, words: str) -> bool:
    """Write what a picture shows; gives whether that is another text than before."""
    after = _fit(words, _CAPTION)
    if after == photo.caption:
        return False
    connection.execute(update(photos).where(photos.c.id == photo.id).values(caption=after))
    return True


def same(connection: Connection, row: int, data: bytes) -> Photo | None:
    """Give the picture of a case that has the same bytes; None if there is none."""
    digest = sha256(data).hexdigest()
    return next((p for p in listed(connection, row) if p.sha256 == digest), None)


def listed(connection: Connection, row: int) -> tuple[Photo, ...]:
    """List the pictures of a case without those that were taken away."""
    p = photos.c
    query = select(p.id, p.name, p.caption, p.kind, p.size, p.sha256, p.by, p.at)
    query = query.where(p.case_row == row, p.removed_at.is_(None)).order_by(p.id)
    rows: list[tuple[Any, ...]] = [tuple(row) for row in connection.execute(query)]
    return tuple(Photo(*row) for row in rows)


def picture(connection: Connection, photo: int) -> bytes:
    """Give the bytes of a picture.

    Raises
    ------
    StoreError
        If there is none with this id, or its bytes are not those that were kept.
    """
    query = select(pictures.c.data, pictures.c.sha256).join(photos)
    found = connection.execute(query.where(photos.c.id == photo)).first()
    if found is None:
        raise StoreError("The store does not hold this photo.", "Open the case again.")
    data = bytes(found[0])
    if sha256(data).hexdigest() != found[1]:
        raise StoreError("The photo is damaged.", "Add it again from where it came from.")
    return data


def take_away(connection: Connection, photo: int, who: Act) -> None:
    """Mark a picture as taken away; its bytes stay."""
    values = {"removed_by": who.by, "removed_at": who.at}
    connection.execute(update(photos).where(photos.c.id == photo).values(values))


def _fit(words: str, most: int) -> str:
    return clean(words)[:most]
