"""The case store: every method is one transaction, on disk before it returns.

A seat shows a case and remembers the number of its last change. What it makes of the case comes
back with that number; if the store is further by then, both are merged (`merging`), and what two
people did not agree on is kept as a conflict. A change carries a token, a uuid that the seat
draws once: sent again, it is answered again and not done twice.
"""

from collections.abc import Callable, Collection
from typing import Literal
from uuid import UUID, uuid4

from sqlalchemy import Engine, select
from sqlalchemy.exc import IntegrityError

from diagnose.case import Case
from diagnose.records import alike, ledger, photos, saving, searching
from diagnose.records.alike import Alike
from diagnose.records.connecting import connect, default_url, reading, writing
from diagnose.records.errors import StoreError
from diagnose.records.glances import Glance, glances
from diagnose.records.kept import Change, Closing, Kept, KeptConflict, Listed, Photo, State, What
from diagnose.records.patches import data_of
from diagnose.records.schema import bring_up
from diagnose.records.states import StateChange
from diagnose.records.tables import cases, conflicts
from diagnose.records.tables import photos as photo_table
from diagnose.records.words import own_words

__all__ = ["Store", "default_url", "open_store"]


def open_store(url: str, words: Callable[[Case], str] = own_words) -> "Store":
    """Open a store and bring its schema up to date.

    Parameters
    ----------
    url : str
        ``sqlite:///...`` or ``postgresql://...``; see `default_url`.
    words : callable
        Gives the text a case is found by; `diagnose.records.words.words_of` with the base.

    Raises
    ------
    StoreError
        If it can't be opened, is no store, or one of a newer program.
    """
    engine = connect(url)
    try:
        bring_up(engine)
    except BaseException:
        engine.dispose()
        raise
    return Store(engine, words)


class Store:
    """Cases as numbered changes.

    Every method raises `StoreError` if the store can't do it, and `ServerLostError` if its server
    does not answer. Times are ISO texts with their offset; a time without one is a ValueError.
    """

    def __init__(self, engine: Engine, words: Callable[[Case], str]) -> None:
        self._engine = engine
        self._words = words

    def close(self) -> None:
        """Let go of the file or the server."""
        self._engine.dispose()

    def new(self, case: Case, by: str, at: str, token: str) -> Kept:
        """Keep a new case; its id is the token of its first change."""
        who, case_id = ledger.act(by, at, _token(token)), _token(token)
        data = ledger.checked_data(case)
        try:
            with writing(self._engine) as connection:
                known = saving.known(connection, who.token)
                if known is not None:
                    return ledger.kept(connection, ledger.present(connection, known))
                now = ledger.open_case(connection, case_id, case, who)
                what = saving.told(now, data)
                after = saving.written(connection, self._words, now, data, what, who)
                return ledger.kept(connection, after)
        except StoreError as error:
            if not isinstance(error.__cause__, IntegrityError):
                raise
        return self.read(case_id)  # another seat sent the same at the same time

    def save(
        self,
        case_id: str,
        case: Case,
        seen: int,
        by: str,
        at: str,
        token: str,
        base: Case | None = None,
        change: StateChange | None = None,
    ) -> Kept:
        """Keep what a seat made of a case, answers and state in one.

        Parameters
        ----------
        case_id : str
        case : Case
            The case as the seat has it now.
        seen : int
            The number of the last change the seat knew when it began.
        by, at, token : str
        base : Case, optional
            What the seat began with, where that is not the case after change `seen`: as with a
            change that was made upon another one which is still on its way.
        change : StateChange, optional
            What the seat says of how far the case is; as it was if left out.

        Returns
        -------
        Kept
            The case with the changes of all seats. A seat goes on with that one.
        """
        who = ledger.act(by, at, _token(token))
        with writing(self._engine) as connection:
            now = ledger.present(connection, case_id, lock=True)
            known = saving.known(connection, who.token)
            if known not in (None, case_id):
                raise StoreError("This change belongs to another case.", "Open the case again.")
            if known is None:
                made = saving.began(connection, now, seen, base), case
                now = saving.laid(connection, self._words, now, made, change, who)
            return ledger.kept(connection, now)

    def read(self, case_id: str, number: int | None = None) -> Kept:
        """Give a case as it is, or as it was after one of its changes."""
        with reading(self._engine) as connection:
            now = ledger.present(connection, case_id)
            if number is None or number == now.number:
                return ledger.kept(connection, now)
            return ledger.kept_then(connection, now, number)

    def timeline(self, case_id: str) -> tuple[Change, ...]:
        """Give every change of a case: who made it, when, and what it did."""
        with reading(self._engine) as connection:
            return ledger.changes_of(connection, ledger.present(connection, case_id).row)

    def find(
        self, words: str = "", states: Collection[State] = (), limit: int = 50, offset: int = 0
    ) -> tuple[Listed, ...]:
        """Find cases, those changed last first.

        Parameters
        ----------
        words : str
            Beginnings of words; a case must have all of them. Nothing finds every case.
        states : collection of State
            Any of these; all if empty.
        limit, offset : int
            How many to give, and how many to leave out before.
        """
        with reading(self._engine) as connection:
            return searching.find(connection, words, states, limit, offset)

    def counts(self, words: str = "") -> dict[State, int]:
        """Count the cases that `find` finds by some words, by their state; nothing counts all."""
        with reading(self._engine) as connection:
            return searching.counts(connection, words)

    def glances(self, ids: Collection[str]) -> dict[str, Glance]:
        """Give what the drivers of some cases complain of, by id; for a page of a list."""
        with reading(self._engine) as connection:
            return glances(connection, ids)

    def alike(self, case: Case, skip: str = "", limit: int = 8) -> tuple[Alike, ...]:
        """Find closed cases like one in which a cause was found, the nearest first.

        Parameters
        ----------
        case : Case
        skip : str
            Id of a case that is left out: its own.
        limit : int
            How many to give, at least one; all closed cases are looked through.
        """
        with reading(self._engine) as connection:
            return alike.find(connection, data_of(case), skip, limit)

    def set_state(self, case_id: str, state: State, by: str, at: str) -> Kept:
        """Say how far a case is."""
        who = ledger.act(by, at, str(uuid4()))
        with writing(self._engine) as connection:
            now = ledger.present(connection, case_id, lock=True)
            if state is now.state:
                return ledger.kept(connection, now)
            what = saving.reached(now.state, state)
            after = saving.written(connection, self._words, now, now.data, what, who, state)
            return ledger.kept(connection, after)

    def conflicts(self, case_id: str) -> tuple[KeptConflict, ...]:
        """Give all conflicts of a case, those that are settled with who chose what."""
        with reading(self._engine) as connection:
            return ledger.conflicts_of(connection, ledger.present(connection, case_id).row)

    def settle(self, conflict_id: int, keep: Literal["first", "other"], by: str, at: str) -> Kept:
        """Choose which side of a conflict counts; the other stays in the conflict."""
        who = ledger.act(by, at, str(uuid4()))
        with writing(self._engine) as connection:
            now = saving.locked_owner(connection, conflicts, conflict_id)
            told = next(c for c in ledger.conflicts_of(connection, now.row) if c.id == conflict_id)
            if told.choice == keep:
                return ledger.kept(connection, now)
            if told.choice:
                raise StoreError(
                    f"{told.settled_by or 'Somebody'} has settled this already.",
                    "Look at the case; its answers can still be changed.",
                )
            after = saving.settled(connection, self._words, now, told, keep, who)
            return ledger.kept(connection, after)

    def closings(self) -> tuple[Closing, ...]:
        """Give how the closed cases ended in which a cause was found, the latest first."""
        c = cases.c
        query = select(c.id, c.causes, c.sure, c.hours, c.opened, c.closed)
        query = query.where(c.state == str(State.CLOSED), c.causes.is_not(None))
        with reading(self._engine) as connection:
            rows = connection.execute(query.order_by(c.last.desc())).all()
        return tuple(Closing(r[0], ledger.names(r[1]), *r[2:]) for r in rows)

    def add_photo(
        self, case_id: str, data: bytes, name: str, caption: str, by: str, at: str
    ) -> Photo:
        """Keep a JPEG or PNG picture with a case; one that is there already is given again."""
        who = ledger.act(by, at, str(uuid4()))
        with writing(self._engine) as connection:
            now = ledger.present(connection, case_id, lock=True)
            there = photos.same(connection, now.row, data)
            if there is None:
                photos.add(connection, now.row, data, (name, caption), who)
                there = photos.listed(connection, now.row)[-1]
                what = (What("added", "photo", there.name),)
                saving.written(connection, self._words, now, now.data, what, who)
            return there

    def photos(self, case_id: str) -> tuple[Photo, ...]:
        """List the pictures of a case in the order they came."""
        with reading(self._engine) as connection:
            return photos.listed(connection, ledger.present(connection, case_id).row)

    def photo(self, photo_id: int) -> bytes:
        """Give the bytes of a picture, also of one that was taken away."""
        with reading(self._engine) as connection:
            return photos.picture(connection, photo_id)

    def caption_photo(self, photo_id: int, caption: str, by: str, at: str) -> None:
        """Say what a picture shows, in other words than before; the picture stays."""
        who = ledger.act(by, at, str(uuid4()))
        with writing(self._engine) as connection:
            now = saving.locked_owner(connection, photo_table, photo_id)
            there = [p for p in photos.listed(connection, now.row) if p.id == photo_id]
            for photo in there:
                if photos.caption(connection, photo, caption):
                    what = (What("changed", "photo", photo.name),)
                    saving.written(connection, self._words, now, now.data, what, who)

    def remove_photo(self, photo_id: int, by: str, at: str) -> None:
        """Take a picture out of the list of its case; its bytes stay in the store."""
        who = ledger.act(by, at, str(uuid4()))
        with writing(self._engine) as connection:
            now = saving.locked_owner(connection, photo_table, photo_id)
            there = [p for p in photos.listed(connection, now.row) if p.id == photo_id]
            for photo in there:
                photos.take_away(connection, photo_id, who)
                what = (What("removed", "photo", photo.name),)
                saving.written(connection, self._words, now, now.data, what, who)


def _token(token: str) -> str:
    """Give a token as it is stored; ValueError if it is no uuid."""
    return str(UUID(token))
