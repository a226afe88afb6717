"""The heartbeat of a trial's processes, watched by a clock that nobody sets."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from tests.faults.rig import Rig

LAST_TICK = "SELECT at FROM followup_heartbeat WHERE name = 'tick'"


class Pulse:
    """Looks many times a second whether another tick has been done."""

    def __init__(self, rig: Rig) -> None:
        """Nothing seen yet."""
        self.rig, self.longest = rig, 0.0
        self._ended = threading.Event()

    def watch(self) -> None:
        """Until it is ended."""
        last, since = self._seen(), time.monotonic()
        while not self._ended.wait(0.05):
            seen, at = self._seen(), time.monotonic()
            self.longest = max(self.longest, at - since)
            if seen != last:
                last, since = seen, at

    def end(self) -> None:
        """Look no more."""
        self._ended.set()

    def _seen(self) -> Any:
        with suppress(Exception):  # a database that is busy is asked again
            return self.rig.ask(LAST_TICK)
        return None


@contextmanager
def watched(rig: Rig) -> Iterator[Pulse]:
    """The pulse during the block; `longest` is the longest time in seconds without another tick."""
    pulse = Pulse(rig)
    thread = threading.Thread(target=pulse.watch, daemon=True)
    thread.start()
    try:
        yield pulse
    finally:
        pulse.end()
        thread.join()
