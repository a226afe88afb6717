"""Started with this folder on PYTHONPATH, a process under libfaketime can sleep.

Python 3.11 sleeps until a moment of the monotonic clock, and libfaketime 0.9.10 reckons that moment by the clock that
it moves: the system refuses it (EINVAL). Waiting for nothing, with a time-out, is the same sleep.
"""

from __future__ import annotations

import select
import time


def _sleep(seconds: float, /) -> None:
    if seconds < 0:
        raise ValueError("sleep length must be non-negative")
    select.select([], [], [], seconds)


time.sleep = _sleep  # type: ignore[assignment]  # no caller of ours passes anything but a float
