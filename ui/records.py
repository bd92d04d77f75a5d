"""The case store as one seat uses it: kept at once, sent on when the server is there.

A case of an SQLite store is in it when `keep` returns. One of a server's is in this seat's outbox
then, on disk as well, and `send` brings it over; so no answer ever waits for the network.
"""

from collections.abc import Iterator
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from threading import RLock
from uuid import NAMESPACE_URL, uuid4, uuid5

from diagnose.case import Case
from diagnose.case_file import case_text, read_case
from diagnose.errors import CaseFileError
from diagnose.records.connecting import sqlite_file
from diagnose.records.errors import StoreError
from diagnose.records.keeping import Care, look_after
from diagnose.records.kept import Kept
from diagnose.records.outbox import Outbox
from diagnose.records.steady import SteadyStore
from diagnose.records.store import Store, open_store
from diagnose.records.words import words_of
from knowledge.model import KnowledgeBase
from ui.photos import add_all


class Records:
    """The store and the outbox of one seat; every method may be called from any thread.

    Parameters
    ----------
    base : KnowledgeBase
        For the words that cases are found by.
    url : str
        Of the store.
    outbox : Path
        Where changes wait while the store's server is away.
    by : str
        Who sits here.
    """

    def __init__(self, base: KnowledgeBase, url: str, outbox: Path, by: str) -> None:
        self.base, self.url, self.by = base, url, by
        self.file = sqlite_file(url)
        self._lock = RLock()
        self._store: Store | None = None
        self._steady = None if self.file else SteadyStore(self._opened, Outbox(outbox))

    @property
    def has_server(self) -> bool:
        """Whether the store is a server's, which others use as well."""
        return self._steady is not None

    def look_after(self, now: datetime) -> Care | None:
        """See that the store is whole and backed up; None where that is the server's business.

        Raises
        ------
        StoreError
            If it can't be read, or a damaged one can't be set aside.
        """
        return None if self.file is None else look_after(self.file, now)

    @property
    def store(self) -> Store:
        """The store, opened if it is not.

        Raises
        ------
        StoreError
            If it can't be opened.
        """
        if self._steady is not None:
            return self._steady.store()
        with self._lock:
            if self._store is None:
                self._store = self._opened()
            return self._store

    def keep(self, kept: Kept | None, case: Case, at: str) -> Kept:
        """Keep what a case has become; on disk when this returns.

        Parameters
        ----------
        kept : Kept or None
            As it was kept last; None for a case that is new.
        case : Case
        at : str
            When, with its offset.

        Raises
        ------
        StoreError
            If it could not be kept.
        """
        token = str(uuid4())
        if self._steady is not None:
            if kept is None:
                return self._steady.put_new(case, self.by, at, token)
            return self._steady.put(kept.id, case, kept.number, self.by, at, token)
        if kept is None:
            return self.store.new(case, self.by, at, token)
        return self.store.save(kept.id, case, kept.number, self.by, at, token)

    def read(self, case_id: str) -> Kept:
        """Give a case as it is in the store, or as it waits here.

        Raises
        ------
        StoreError
            If there is none, or the server is away and it is not here.
        """
        source = self.store if self._steady is None else self._steady
        return source.read(case_id)

    def send(self) -> dict[str, Kept]:
        """Send what waits for the server; gives the cases that something was sent of.

        Raises
        ------
        ServerLostError
            If the server is away; all is still here.
        """
        return {} if self._steady is None else self._steady.send()

    def seen(self, kept: Kept) -> None:
        """Note that this seat goes on with a case as the server holds it."""
        if self._steady is not None:
            self._steady.seen(kept)

    def waits(self, case_id: str) -> bool:
        """Whether something of a case waits for the server."""
        if self._steady is None:
            return False
        return any(item.case_id == case_id for item in self._steady.waiting)

    def take_in(self, path: Path, at: str) -> Kept:
        """Keep the case of a file; the same file is kept once.

        Raises
        ------
        CaseFileError
            If the file can't be used.
        StoreError
            If it could not be kept.
        """
        return self.take_in_whole(path, at)[0]

    def take_in_whole(self, path: Path, at: str) -> tuple[Kept, tuple[str, ...]]:
        """Keep the case of a file with its photographs; gives what of these could not be kept.

        Raises
        ------
        CaseFileError
            If the file can't be used.
        StoreError
            If the case could not be kept.
        """
        found = read_case(path, self.base)
        digest = sha256(case_text(found.case).encode()).hexdigest()
        token = str(uuid5(NAMESPACE_URL, f"pull-once:case:{digest}"))
        source = self.store if self._steady is None else self._steady
        kept = source.new(found.case, self.by, at, token)
        if not found.photographs:
            return kept, ()
        try:
            return kept, add_all(self.store, kept.id, found.photographs, self.by, at)
        except StoreError as error:
            return kept, (error.sentence,)

    def take_in_folder(self, folder: Path, at: str) -> Iterator[Path]:
        """Keep the cases of a folder of files; yields those that could not be used."""
        for path in sorted(folder.glob("*.yaml")):
            try:
                self.take_in(path, at)
            except CaseFileError:
                yield path

    def close(self) -> None:
        """Let go of the store."""
        if self._steady is not None:
            self._steady.close()
        with self._lock:
            if self._store is not None:
                self._store.close()
                self._store = None

    def _opened(self) -> Store:
        return open_store(self.url, lambda case: words_of(self.base, case))
