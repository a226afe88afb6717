"""What a sink accepted: one line a message, on the disk before the sender hears of it."""

from __future__ import annotations

import json
import os
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True)
class Line:
    """One message that was accepted, at `at` by the sink's machine. `key` is the same for each copy of a message."""

    at: float
    channel: str
    key: str
    to: str
    text: str


class Log:
    """The file of one sink. Appended to by the sink alone."""

    def __init__(self, file: Path) -> None:
        """Open it for appending; it is there from now on."""
        self._descriptor = os.open(file, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)

    def accept(self, *, channel: str, key: str, to: str, text: str, synced: bool = True) -> None:
        """Write the message down, and return only when the disk has it, if it is `synced`."""
        line = Line(time.time(), channel, key, to, text)
        os.write(self._descriptor, (json.dumps(asdict(line)) + "\n").encode())
        if synced:
            os.fsync(self._descriptor)


def lines_in(file: Path) -> list[Line]:
    """All that was accepted, in order."""
    return [Line(**json.loads(line)) for line in file.read_text().splitlines()]


def copies(lines: Iterable[Line]) -> Counter[str]:
    """How often each message was accepted."""
    return Counter(line.key for line in lines)
