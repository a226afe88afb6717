"""The Celery worker and Beat as threads of this process, for an installation of one process.

Nothing that matters lives here: each tick asks the tables what is due. `Embedded.keep_ticking`
starts Beat anew when it has died, or when no tick has been done for too long (a host clock set
back makes Beat wait for it to catch up).
"""

from __future__ import annotations

import fcntl
import logging
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from celery import Celery
from celery.beat import Scheduler, Service
from celery.worker import WorkController

logger = logging.getLogger(__name__)

LOOK_SECONDS = 5.0
"""How often Beat is looked at."""
STOP_SECONDS = 15.0
"""Longest wait for a running task at the end."""

LastTick = Callable[[], object]
"""Something that changes with every tick done: its value is compared, never understood."""


class AlreadyServing(RuntimeError):
    """Another process serves this data folder."""


@contextmanager
def only_one(lock_file: Path) -> Iterator[None]:
    """Hold `lock_file` for this process alone. The system lets go of it when the process ends."""
    with lock_file.open("a+") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.seek(0)
            raise AlreadyServing(lock.read().strip() or "another process") from None
        lock.truncate(0)
        lock.write(f"process {os.getpid()}\n")
        lock.flush()
        yield


class Patience:
    """Notices that something has not changed for too long, by a clock that nobody can set."""

    def __init__(self, *, seconds: float, began: float) -> None:
        """Wait for `seconds` of monotonic time, from `began` on."""
        self.seconds = seconds
        self.restart(began)

    def restart(self, at: float) -> None:
        """Begin to wait again, whatever was seen before."""
        self._since = at

    def lost(self, seen: object, *, at: float) -> bool:
        """Whether `seen` is the same as for the last `seconds`."""
        if seen != getattr(self, "_seen", None):
            self._seen = seen
            self._since = at
        return at - self._since >= self.seconds


class InsideServe(Service):
    """A Beat beside its worker: clinic/celery.py asks, and lets it use the in-memory queue."""

    inside_serve = True


class Embedded:
    """A worker of a few threads, Beat, and a watch over Beat."""

    def __init__(self, app: Celery, *, threads: int, last_tick: LastTick | None, late: float) -> None:
        """`late` is how many seconds without a tick are too many."""
        self.app = app
        # WorkController and not the command line's Worker: no signal handlers, no banner.
        self.worker = WorkController(
            app=app,
            hostname="embedded@localhost",
            pool="threads",
            concurrency=threads,
            prefetch_multiplier=4,  # with 1, Beat starves behind a backlog
            task_events=False,
            without_heartbeat=True,
            without_mingle=True,
            without_gossip=True,
        )
        self.last_tick = last_tick
        self.late = late
        self.ending = threading.Event()
        self.beat = self._new_beat()
        self.threads = {
            "worker": self._thread("worker", self.worker.start),
            "beat": self._thread("beat", self.beat.start),
            "watch": self._thread("watch", self.keep_ticking),
        }

    def start(self) -> None:
        """Start all three threads."""
        self.app.set_default()  # the pool's own threads look tasks up in the default application
        for thread in self.threads.values():
            thread.start()

    def stop(self) -> None:
        """Stop Beat first, then let running tasks end."""
        self.ending.set()
        self.threads["watch"].join(STOP_SECONDS)
        self.beat.stop()
        self.worker.stop()
        for thread in self.threads.values():
            thread.join(STOP_SECONDS)

    def keep_ticking(self) -> None:
        """Until the end, start Beat anew whenever it died or the ticks stopped."""
        patience = Patience(seconds=self.late, began=time.monotonic())
        while not self.ending.wait(LOOK_SECONDS):
            at = time.monotonic()
            silent = self.last_tick is not None and patience.lost(self._seen(), at=at)
            if silent or not self.threads["beat"].is_alive():
                logger.warning("Beat has died or is silent: it is started anew.")
                self.restart_beat()
                patience.restart(at)

    def restart_beat(self) -> None:
        """Leave the old Beat to end by itself; two for a moment do no harm, ticks may run twice."""
        self.beat.stop()
        self.beat = self._new_beat()
        self.threads["beat"] = self._thread("beat", self.beat.start)
        self.threads["beat"].start()

    def _seen(self) -> object:
        try:
            return self.last_tick() if self.last_tick else None
        except Exception:  # the watch outlives a database that is away for a while
            logger.exception("The last tick could not be read.")
            return None

    def _new_beat(self) -> Service:
        # The schedule is kept in memory: no file that could break.
        return InsideServe(self.app, max_interval=1, scheduler_cls=Scheduler)

    def _thread(self, name: str, run: Callable[[], None]) -> threading.Thread:
        def body() -> None:
            self.app.set_current()
            run()

        return threading.Thread(target=body, name=f"celery-{name}", daemon=True)
