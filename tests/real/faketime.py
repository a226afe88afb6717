"""libfaketime for tests: a clock of a single process that can be set while it runs."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from tests.real.finding import Missing

HOW = "set LIBFAKETIME to the path of libfaketimeMT.so.1, or install it (Debian: apt-get install faketime)"
PLAIN_SLEEP = Path(__file__).parent / "plain_sleep"
FOLDERS = ("/usr/lib/x86_64-linux-gnu/faketime", "/usr/lib/aarch64-linux-gnu/faketime", "/usr/lib/faketime")


@dataclass(frozen=True)
class FakeTime:
    """The library, to be loaded before everything else. Only the clock of the day is moved: no span that is waited."""

    library: Path
    how: str

    def __str__(self) -> str:
        return f"libfaketime ({self.how})"

    def environment(self, clock: Path) -> dict[str, str]:
        """Of a process to which it is as many seconds later as `clock` says, e.g. "-3600"; read at every look."""
        return {
            "LD_PRELOAD": str(self.library),
            "FAKETIME_TIMESTAMP_FILE": str(clock),
            "FAKETIME_NO_CACHE": "1",
            "FAKETIME_DONT_FAKE_MONOTONIC": "1",
            "PYTHONPATH": str(PLAIN_SLEEP),
        }


def find() -> FakeTime:
    """The library; Missing says why there is none."""
    given = os.environ.get("LIBFAKETIME", "")
    for path in [Path(given)] if given else [Path(folder) / "libfaketimeMT.so.1" for folder in FOLDERS]:
        if path.is_file():
            return FakeTime(path, "LIBFAKETIME" if given else f"library {path}")
    raise Missing(f"there is no {given or 'libfaketimeMT.so.1'}; {HOW}")
