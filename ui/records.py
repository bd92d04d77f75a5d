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
from diagnose.records.album import Album, SteadyAlbum
from diagnose.records.connecting import sqlite_file
from diagnose.records.errors import StoreError
from diagnose.records.keeping import Care, look_after, look_after_outbox
from diagnose.records.kept import Kept, State
from diagnose.records.outbox import Outbox
from diagnose.records.states import StateChange
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
        self._outbox = outbox
        box = Outbox(outbox)
        self._steady = None if self.file else SteadyStore(self._opened, box)
        self._waiting_album = None if self._steady is None else SteadyAlbum(self._steady, box)

    @property
    def has_server(self) -> bool:
        """Whether the store is a server's, which others use as well."""
        return self._steady is not None

    def look_after(self, now: datetime) -> Care | None:
        """See that the store is whole and backed up; of a server's, what waits here for it.

        Raises
        ------
        StoreError
            If it can't be used, or a damaged file can't be set aside.
        """
        if self.file is not None:
            return look_after(self.file, now)
        care = look_after_outbox(self._outbox, now)
        self.refused()  # whether it can be used is told now, and not at the first answer
        return care

    def stranded(self) -> int:
        """Count what waits here for a server, while the store is a file."""
        there = not self.has_server and self._outbox.exists()
        return len(Outbox(self._outbox).tokens()) if there else 0

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

    @property
    def album(self) -> Album:
        """The photographs of all cases, those that wait here among them.

        Raises
        ------
        StoreError
            If the store can't be opened.
        """
        return self._waiting_album or self.store

    def keep(self, kept: Kept | None, case: Case, at: str, state: State | None = None) -> Kept:
        """Keep what a case has become; on disk when this returns.

        Parameters
        ----------
        kept : Kept or None
            As it was kept last; None for a case that is new.
        case : Case
        at : str
            When, with its offset.
        state : State, optional
            How far the case is from now on; as it was if left out.

        Raises
        ------
        StoreError
            If it could not be kept.
        """
        token = str(uuid4())
        if kept is None:
            kept = self._begun(case, at, token)
            return kept if state in (None, kept.state) else self.keep(kept, case, at, state)
        if self._steady is not None:
            return self._steady.keep(kept, case, self.by, at, token, state)
        change = StateChange(kept.state, state or kept.state)
        return self.store.save(kept.id, case, kept.number, self.by, at, token, None, change)

    def _begun(self, case: Case, at: str, token: str) -> Kept:
        source = self.store if self._steady is None else self._steady
        return source.new(case, self.by, at, token)

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

    def waits(self, case_id: str) -> bool:
        """Whether a change of a case waits for the server."""
        return self._steady is not None and self._steady.waits(case_id)

    def refused(self) -> tuple[tuple[str, str], ...]:
        """Give token and reason of all that the server's store did not take, and that waits."""
        return () if self._steady is None else self._steady.refused()

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
        kept = self._begun(found.case, at, token)
        if self._steady is not None:
            kept = self._steady.read(kept.id)  # it may have come before, and be further by now
        if not found.photographs:
            return kept, ()
        try:
            return kept, add_all(self.album, kept.id, found.photographs, self.by, at)
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
