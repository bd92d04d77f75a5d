"""A seat's way to a server's store that goes on while the server is away."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from math import inf
from threading import Lock, RLock
from time import monotonic
from uuid import UUID

from diagnose.case import Case
from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.items import Item, PhotoItem
from diagnose.records.kept import Kept, State
from diagnose.records.outbox import Outbox
from diagnose.records.states import StateChange
from diagnose.records.store import Store


class SteadyStore:
    """Keeping, reading and sending; what is kept is on disk here before the server is asked.

    Parameters
    ----------
    opened : callable
        Opens the server's store; called again until it succeeds.
    outbox : Outbox
        Of this seat alone.
    pause : float
        Seconds for which a server that did not answer is not asked again, so that not every
        look at a case waits for it. `send` asks in any case.

    Attributes
    ----------
    sending : RLock
        Held while the server is asked. What is kept never waits for it.
    """

    def __init__(self, opened: Callable[[], Store], outbox: Outbox, *, pause: float = 20.0) -> None:
        self._opened = opened
        self._outbox = outbox
        self._pause = pause
        self._away_until = -inf
        self._store: Store | None = None
        self._opening = Lock()
        self.sending = RLock()

    def store(self) -> Store:
        """Give the server's store, opened if it was not.

        Raises
        ------
        ServerLostError
            If the server does not answer.
        """
        with self._opening:
            if self._store is None:
                self._store = self._opened()
            return self._store

    def close(self) -> None:
        """Let go of the server; what waits stays here."""
        with self._opening:
            if self._store is not None:
                self._store.close()
                self._store = None

    def waits(self, case_id: str) -> bool:
        """Whether a change of a case has not been sent yet; its photographs do not count."""
        return self._outbox.waits(case_id)

    def refused(self) -> tuple[tuple[str, str], ...]:
        """Give token and reason of all that the server's store did not take."""
        return self._outbox.refused()

    def new(self, case: Case, by: str, at: str, token: str) -> Kept:
        """Keep a new case here, without asking the server; its id is its token."""
        token = str(UUID(token))
        return self._put(Item(token, token, None, case, None, State.OPEN, State.OPEN, by, at))

    def keep(
        self, kept: Kept, case: Case, by: str, at: str, token: str, state: State | None = None
    ) -> Kept:
        """Keep what a seat made of a case here, without asking the server.

        Parameters
        ----------
        kept : Kept
            What the seat began with.
        case : Case
        by, at, token : str
        state : State, optional
            How far the case is from now on; as the seat saw it if left out.

        Returns
        -------
        Kept
            What the seat goes on with, until `read` gives what the server made of it.
        """
        # What the server never held can't be told to it by a number.
        base = None if kept.sent else kept.case
        states = kept.state, state or kept.state
        item = Item(str(UUID(token)), kept.id, kept.number, case, base, *states, by, at)
        return replace(self._put(item), conflicts=kept.conflicts)

    def _put(self, item: Item) -> Kept:
        self._outbox.put(item)
        return _left(item)

    def read(self, case_id: str) -> Kept:
        """Give a case: from the server, or as it was left here if the server is away.

        Raises
        ------
        StoreError
            If the server has none; a `ServerLostError` if it is away and the case is not here.
        """
        try:
            with self.asking() as store:
                here = self._outbox.latest(case_id)
                return store.read(case_id) if here is None else _left(here)
        except ServerLostError:
            here = self._outbox.latest(case_id)
            if here is None:
                raise
            return _left(here)

    def send(self) -> dict[str, Kept]:
        """Send what waits, in its order.

        A change that the server's store refuses stays here, and so does all that comes after it
        in its case; a photograph holds up nothing. The other cases go on.

        Returns
        -------
        dict
            Case id -> the case as the server holds it now, for each that a change was sent of.

        Raises
        ------
        ServerLostError
            If the server is away; what was not sent by then is still here.
        """
        with self.sending:
            self._away_until = -inf
            return self._send_waiting()

    @contextmanager
    def asking(self) -> Iterator[Store]:
        """Give the server's store to ask it once all that waits is sent; nobody sends meanwhile.

        Raises
        ------
        ServerLostError
            If the server is away, or becomes so while it is asked.
        """
        with self.sending:
            self._send_waiting()
            with self._noting_loss():
                yield self.store()

    def _send_waiting(self) -> dict[str, Kept]:
        if monotonic() < self._away_until:
            raise ServerLostError("The store's server did not answer a moment ago.")
        sent: dict[str, Kept] = {}
        held = set()
        for token, case_id in self._outbox.tokens():
            if case_id in held:
                continue
            item: Item | PhotoItem | None = None
            try:
                item = self._outbox.item(token)
                kept = self._send(item)
            except ServerLostError:
                raise
            except StoreError as error:
                self._outbox.refuse(token, str(error))
                if not isinstance(item, PhotoItem):
                    held.add(case_id)
            else:
                self._outbox.done(token)
                if kept is not None:
                    sent[case_id] = kept
        return sent

    def _send(self, item: Item | PhotoItem | None) -> Kept | None:
        """Send an item; gives the case after a change, None after all else."""
        if item is None:
            return None  # another window of this seat has sent it
        with self._noting_loss():
            store = self.store()
            if isinstance(item, PhotoItem):
                self._send_photo(store, item)
                return None
            if item.seen is None:
                return store.new(item.case, item.by, item.at, item.token)
            change = StateChange(item.was, item.state)
            made = item.case_id, item.case, item.seen, item.by, item.at, item.token
            return store.save(*made, item.base, change)

    def _send_photo(self, store: Store, item: PhotoItem) -> None:
        data = self._outbox.picture(item.place)
        who = item.by, item.at
        photo = store.add_photo(item.case_id, data, item.name, item.caption, *who)
        if item.caption not in ("", photo.caption):
            # It had come already, and its answer was lost; the words were written since.
            store.caption_photo(photo.id, item.caption, *who)

    @contextmanager
    def _noting_loss(self) -> Iterator[None]:
        """Remember for a while that the server does not answer."""
        try:
            yield
        except ServerLostError:
            self._away_until = monotonic() + self._pause
            raise


def _left(item: Item) -> Kept:
    """Give a case as this seat left it."""
    number = item.seen or 0
    return Kept(item.case_id, number, item.case, item.state, (), item.at, item.by, sent=False)
