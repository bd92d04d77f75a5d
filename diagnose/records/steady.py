"""A seat's way to the store that goes on while the server is away."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from math import inf
from threading import RLock
from time import monotonic
from uuid import UUID

from diagnose.case import Case
from diagnose.records.errors import ServerLostError, StoreError
from diagnose.records.kept import Kept, State
from diagnose.records.outbox import Item, Outbox
from diagnose.records.store import Store


class SteadyStore:
    """New cases, changes and reading; each works with the server away, for cases in the outbox.

    Parameters
    ----------
    opened : callable
        Opens the server's store; called again until it succeeds.
    outbox : Outbox
        Of this seat alone.
    pause : float
        Seconds for which a server that did not answer is not asked again, so that not every
        answer waits for it. `send` asks in any case.
    """

    def __init__(self, opened: Callable[[], Store], outbox: Outbox, *, pause: float = 20.0) -> None:
        self._opened = opened
        self._outbox = outbox
        self._pause = pause
        self._away_until = -inf
        self._store: Store | None = None
        self._upon: dict[str, Case] = {}  # cases as this seat left them, not seen merged since
        self._lock = RLock()

    @property
    def waiting(self) -> tuple[Item, ...]:
        """What has not been sent yet, in its order; with why, where it was refused."""
        return self._outbox.items()

    def store(self) -> Store:
        """Give the server's store, opened if it was not.

        Raises
        ------
        ServerLostError
            If the server does not answer.
        """
        with self._lock:
            if self._store is None:
                self._store = self._opened()
            return self._store

    def close(self) -> None:
        """Let go of the server; what waits stays here."""
        with self._lock:
            if self._store is not None:
                self._store.close()
                self._store = None

    def new(self, case: Case, by: str, at: str, token: str) -> Kept:
        """Keep a new case, here if the server is away; its id is its token."""
        return self._sent(Item(str(UUID(token)), str(UUID(token)), None, case, None, by, at))

    def save(
        self,
        case_id: str,
        case: Case,
        seen: int,
        by: str,
        at: str,
        token: str,
        base: Case | None = None,
    ) -> Kept:
        """Keep what a seat made of a case, here if the server is away; as `Store.save`.

        A change made upon one that is still here begins with that one.
        """
        with self._lock:
            began = self._upon.get(case_id) if base is None else base
            return self._sent(Item(str(UUID(token)), case_id, seen, case, began, by, at))

    def put_new(self, case: Case, by: str, at: str, token: str) -> Kept:
        """Keep a new case here without asking the server; `send` brings it over."""
        return self._put(Item(str(UUID(token)), str(UUID(token)), None, case, None, by, at))

    def put(self, case_id: str, case: Case, seen: int, by: str, at: str, token: str) -> Kept:
        """Keep what a seat made of a case here without asking the server; as `save` else."""
        with self._lock:
            began = self._upon.get(case_id)
            return self._put(Item(str(UUID(token)), case_id, seen, case, began, by, at))

    def seen(self, kept: Kept) -> None:
        """Note that the seat goes on with a case as the server holds it."""
        with self._lock:
            self._upon.pop(kept.id, None)

    def read(self, case_id: str) -> Kept:
        """Give a case: from the server, or as it was left here if the server is away."""
        with self._lock:
            try:
                self._send_waiting()
                here = self._latest(case_id)
                if here is None:
                    with self._noting_loss():
                        return self._seen(self.store().read(case_id))
            except ServerLostError:
                here = self._latest(case_id)
                if here is None:
                    raise
            return self._left(here)

    def send(self) -> dict[str, Kept]:
        """Send what waits, in its order.

        An item that the server's store refuses stays here, and so do the later ones of its case;
        the others go on.

        Returns
        -------
        dict
            Case id -> the case as the server holds it now, for each that something was sent of.

        Raises
        ------
        ServerLostError
            If the server is away; what was not sent by then is still here.
        """
        with self._lock:
            self._away_until = -inf
            return self._send_waiting()

    def _send_waiting(self) -> dict[str, Kept]:
        if monotonic() < self._away_until:
            raise ServerLostError("The store's server did not answer a moment ago.")
        sent: dict[str, Kept] = {}
        held = set()
        for item in self._outbox.items():
            if item.case_id in held:
                continue
            try:
                sent[item.case_id] = self._send(item)
            except ServerLostError:
                raise
            except StoreError as error:
                held.add(item.case_id)
                self._outbox.refuse(item.token, str(error))
            else:
                self._outbox.done(item.token)
        return sent

    def _sent(self, item: Item) -> Kept:
        """Send an item after all that wait; if it can't be sent, keep it here."""
        with self._lock:
            try:
                self._send_waiting()
                if self._latest(item.case_id) is None:
                    return self._seen(self._send(item))
            except ServerLostError:
                pass  # it waits here with those before it
            return self._put(item)

    def _put(self, item: Item) -> Kept:
        with self._lock:
            self._outbox.put(item)
            return self._left(item)

    def _seen(self, kept: Kept) -> Kept:
        """Note that the seat goes on with what the server holds."""
        self._upon.pop(kept.id, None)
        return kept

    def _left(self, item: Item) -> Kept:
        """Give a case as this seat left it, and note that the seat goes on with that."""
        self._upon[item.case_id] = item.case
        number = item.seen or 0
        return Kept(item.case_id, number, item.case, State.OPEN, (), item.at, item.by, sent=False)

    def _send(self, item: Item) -> Kept:
        token = item.token
        with self._noting_loss():
            store = self.store()
            if item.seen is None:
                return store.new(item.case, item.by, item.at, token)
            return store.save(
                item.case_id, item.case, item.seen, item.by, item.at, token, item.base
            )

    @contextmanager
    def _noting_loss(self) -> Iterator[None]:
        """Remember for a while that the server does not answer."""
        try:
            yield
        except ServerLostError:
            self._away_until = monotonic() + self._pause
            raise

    def _latest(self, case_id: str) -> Item | None:
        mine = [item for item in self._outbox.items() if item.case_id == case_id]
        return mine[-1] if mine else None
