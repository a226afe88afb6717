"""Started with this folder on PYTHONPATH, a Python process believes its machine's clock to be MACHINE_AHEAD seconds on.

What it waits by, the monotonic clock, stays true.
"""

from __future__ import annotations

import datetime as dt
import os

import time_machine

_ahead = dt.timedelta(seconds=float(os.environ["MACHINE_AHEAD"]))
time_machine.travel(dt.datetime.now(dt.UTC) + _ahead, tick=True).start()  # noqa: TID251 - this is the machine's clock
