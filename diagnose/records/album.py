"""The photographs of a case, wherever they are: in a store, or waiting here for a server's."""

from contextlib import suppress
from hashlib import sha256
from typing import Protocol
from uuid import uuid4

from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.items import PhotoItem
from diagnose.records.kept import Photo
from diagnose.records.outbox import Outbox
from diagnose.records.photos import kind_of
from diagnose.records.steady import SteadyStore


class Album(Protocol):
    """What `diagnose.records.store.Store` and `SteadyAlbum` do with photographs."""

    def photos(self, case_id: str) -> tuple[Photo, ...]:
        """List the photographs of a case in the order they came."""

    def photo(self, photo_id: int) -> bytes:
        """Give the bytes of a photograph."""

    def add_photo(
        self, case_id: str, data: bytes, name: str, caption: str, by: str, at: str
    ) -> object:
        """Keep a JPEG or PNG picture with a case; one that is there already stays."""

    def caption_photo(self, photo_id: int, caption: str, by: str, at: str) -> None:
        """Say what a photograph shows."""

    def remove_photo(self, photo_id: int, by: str, at: str) -> None:
        """Take a photograph out of the list of its case."""


class SteadyAlbum:
    """Photographs of a server's store; what is added waits here while the server is away.

    Those that wait are listed last, with ids below 0. Everything but these needs the server, and
    raises `ServerLostError` while it is away.

    Parameters
    ----------
    steady : SteadyStore
    outbox : Outbox
        The same that `steady` sends from.
    """

    def __init__(self, steady: SteadyStore, outbox: Outbox) -> None:
        self._steady = steady
        self._outbox = outbox

    def photos(self, case_id: str) -> tuple[Photo, ...]:
        """List the photographs of a case; with the server away those alone that wait here.

        Raises
        ------
        ServerLostError
            If the server is away and none wait here.
        """
        there: tuple[Photo, ...] = ()
        try:
            with self._steady.asking() as store:
                if not self._outbox.begins(case_id):
                    there = store.photos(case_id)
        except ServerLostError:
            if not self._outbox.photos(case_id):
                raise
        return there + tuple(map(_waiting, self._outbox.photos(case_id)))

    def photo(self, photo_id: int) -> bytes:
        """Give the bytes of a photograph, from here or from the server."""
        if photo_id < 0:
            return self._outbox.picture(-photo_id)
        with self._steady.asking() as store:
            return store.photo(photo_id)

    def add_photo(
        self, case_id: str, data: bytes, name: str, caption: str, by: str, at: str
    ) -> None:
        """Keep a picture with a case, here until the server has it.

        Raises
        ------
        StoreError
            If it is no picture that is kept, too many wait, or the server's store refuses it.
        """
        texts = name, caption, kind_of(data)  # refused now, and not once nobody looks any more
        self._outbox.put_photo(str(uuid4()), case_id, data, texts, (by, at))
        with suppress(ServerLostError):
            self._steady.send()
        digest = sha256(data).hexdigest()
        for photo in self._outbox.photos(case_id):
            if photo.refused and photo.sha256 == digest:
                self._outbox.done(photo.token)
                raise StoreError(photo.refused)

    def caption_photo(self, photo_id: int, caption: str, by: str, at: str) -> None:
        """Say what a photograph shows."""
        if photo_id < 0:
            with self._steady.sending:
                self._outbox.caption(self._outbox.photo(-photo_id), caption)
        else:
            with self._steady.asking() as store:
                store.caption_photo(photo_id, caption, by, at)

    def remove_photo(self, photo_id: int, by: str, at: str) -> None:
        """Take a photograph out of the list of its case; one that waits is not sent."""
        if photo_id < 0:
            with self._steady.sending:
                self._outbox.done(self._outbox.photo(-photo_id).token)
        else:
            with self._steady.asking() as store:
                store.remove_photo(photo_id, by, at)


def _waiting(item: PhotoItem) -> Photo:
    texts = item.name, item.caption, item.kind
    return Photo(-item.place, *texts, item.size, item.sha256, item.by, item.at, sent=False)
