"""How much of everything, meant for some five minutes on two quiet cores. BENCH=short shows only that it runs."""

from __future__ import annotations

import os

SHORT = os.environ.get("BENCH") == "short"

WORKERS = (1, 4)
TO_SEND = {1: 60, 4: 120} if SHORT else {1: 300, 4: 800}
"""Messages by the number of workers."""

KILLED = 80 if SHORT else 200
"""Messages of a run in which every worker is killed."""
KILL_AT = (0.25, 0.5, 0.75)
"""Parts of them that have arrived when it happens."""
ANSWERS_IN = 0.1
"""Seconds that the mail server takes meanwhile; half of them before it writes a message down."""
LEASE = 9
"""Seconds after which what a dead worker held is taken up again, in each of the ways: ours is 90 s at a pace of 10."""
PACE = 90 // LEASE

FUTURE = 20_000 if SHORT else 300_000
CLAIMS = 100 if SHORT else 400

DUE_MEANWHILE = 200 if SHORT else 5_000
REPLIES_A_SECOND = 50
REPLIES_FOR = 4 if SHORT else 20
"""Seconds."""
REPLIES_DISPATCHERS = 2
