"""How long one claim takes while there is much that is not due yet. `python -m tests.bench.delivery.claims NUMBER`.

It runs with the program's environment, over messages that `seeds` has made.
"""

from __future__ import annotations

import json
import os
import sys
import time

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
django.setup()

from followup.domain.delivery import LEASE
from followup.services.claim import claim, queues
from followup.services.lanes import Lane
from tests.faults.seeds import DUE

FIRST = 10
"""Claims that do not count: the connection is opened, and the statement planned."""


def claims(many: int) -> list[float]:
    """Milliseconds of so many claims, one after the other; what was claimed stays on its way."""
    lane = Lane(alerts=False, medium="email")
    found = []
    for _ in range(FIRST + many):
        begun = time.perf_counter()
        taken = claim(queues(lane, now=DUE), now=DUE, until=DUE + LEASE)
        found.append((time.perf_counter() - begun) * 1000)
        assert taken is not None
    return found[FIRST:]


if __name__ == "__main__":
    print(json.dumps(claims(int(sys.argv[1]))))
