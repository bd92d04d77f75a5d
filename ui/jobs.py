"""The one door to work off the window's thread.

A job belongs to a slot. In each slot at most one job runs and at most one waits: a newer one takes
the place of the one that waits, and what an older one brings is dropped. Results and errors come
back on the window's thread.
"""

import gc
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Signal


@dataclass(frozen=True, eq=False)
class Job:
    """Some work, and who hears of its result or error.

    Attributes
    ----------
    work : callable
        Done on a thread of its own.
    done, failed : callable
        Called on the window's thread with what it brought, or with its error.
    cancel : callable
        Called once nobody waits for the result any more, so that the work can end early.
    """

    work: Callable[[], Any]
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    cancel: Callable[[], None] = lambda: None


class _Collector:
    """Keeps Python's cycle collector off while a job is under way.

    It runs in whichever thread happens to allocate, and what it frees may be widgets: those must
    go in the window's thread.
    """

    def __init__(self) -> None:
        self._pauses = 0

    def pause(self) -> None:
        self._pauses += 1
        gc.disable()

    def resume(self) -> None:
        self._pauses -= 1
        if not self._pauses:
            gc.enable()


_collector = _Collector()  # one, as the collector itself is one for the whole process


class Jobs(QObject):
    """Runs jobs, one after the other within a slot.

    Signals
    -------
    busy_changed(bool)
        Whether any job runs or waits.
    """

    finished = Signal(str, object, object)
    busy_changed = Signal(bool)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # Python's own pool: a QRunnable may be freed here while its thread is still on the way out.
        # Three: a new case is weighed at once, whatever of the old one is still on its way out.
        self._pool = ThreadPoolExecutor(max_workers=3, thread_name_prefix="pull-once")
        self._running: dict[str, Job] = {}
        self._waiting: dict[str, Job] = {}
        self._dropped: set[str] = set()
        self._closed = False
        self.finished.connect(self._on_finished)

    @property
    def busy(self) -> bool:
        """Whether any job runs or waits."""
        return bool(self._running)

    def start(self, slot: str, job: Job) -> None:
        """Start a job; whatever the slot was doing before is stale now."""
        if self._closed:
            return
        if slot in self._running:
            self._running[slot].cancel()
            self._waiting[slot] = job
        else:
            was_busy = self.busy
            self._run(slot, job)
            if not was_busy:
                self.busy_changed.emit(True)

    def drop(self, slot: str) -> None:
        """Make whatever the slot is doing stale."""
        self._waiting.pop(slot, None)
        if slot in self._running:
            self._running[slot].cancel()
            self._dropped.add(slot)

    def close(self) -> None:
        """Drop everything and wait until the last job has ended."""
        self._closed = True
        self._waiting.clear()
        for job in self._running.values():
            job.cancel()
        self._pool.shutdown(wait=True, cancel_futures=True)
        if self._running:
            self._running.clear()
            _collector.resume()

    def _run(self, slot: str, job: Job) -> None:
        if not self._running:
            _collector.pause()
        self._running[slot] = job
        # Only the work itself goes to the thread: what hears of it is never freed there.
        self._pool.submit(self._work, slot, job.work)

    def _work(self, slot: str, work: Callable[[], Any]) -> None:
        """Do a job, on a thread of the pool, and send what it brings to the window's thread."""
        result: Any = None
        error: Exception | None = None
        try:
            result = work()
        except Exception as caught:  # noqa: BLE001 - handed over whole to the window's thread
            error = caught
        self.finished.emit(slot, result, error)

    def _on_finished(self, slot: str, result: object, error: Exception | None) -> None:
        if self._closed:
            return
        job = self._running.pop(slot)
        if not self._running:
            _collector.resume()
        stale = slot in self._dropped or slot in self._waiting
        self._dropped.discard(slot)
        if slot in self._waiting:
            self._run(slot, self._waiting.pop(slot))
        elif not self.busy:
            self.busy_changed.emit(False)
        if stale:
            return
        if error is None:
            job.done(result)
        else:
            job.failed(error)
