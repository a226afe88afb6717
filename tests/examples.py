"""How many examples a property is tried on. `EXAMPLES=20 make test ARGS=tests/domain` tries twenty times as many."""

from __future__ import annotations

import os

TIMES = float(os.environ.get("EXAMPLES", "1"))


def examples(number: int) -> int:
    """`number` in an ordinary run."""
    return max(int(number * TIMES), 1)
