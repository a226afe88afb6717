"""How a sink behaves. A trial writes its orders to a file, which the sink reads anew for every message."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path

MOST_IN_A_ROW = 3
"""Refusals of one message for now, so that a share of the tries is refused but no message for ever."""


@dataclass(frozen=True)
class Orders:
    """What a sink does with a message. Shares are from 0 to 1, of those that come, always the same ones.

    `takes`: seconds from the message to the answer; half of them before it is written down. `refused`: the share of
    tries that are answered 451 after the text. `silent`: the share of addresses whose messages are accepted and never
    answered. `nobody`: the share of addresses that are unknown here (550). `status` and `says`: what a gateway of text
    messages answers; it takes the message unless the status is one of a fault. `synced`: its log is on the disk before
    it answers; without that only a sink that loses its power forgets.
    """

    takes: float = 0.0
    refused: float = 0.0
    silent: float = 0.0
    nobody: float = 0.0
    status: int = 200
    says: str = "{}"
    synced: bool = True

    def write(self, file: Path) -> None:
        """Put them in force, whole or not at all."""
        new = file.with_suffix(".new")
        new.write_text(json.dumps(asdict(self)))
        new.replace(file)

    @classmethod
    def read(cls, file: Path) -> Orders:
        """Those that are in force."""
        return cls(**json.loads(file.read_text()))


def picked(name: str, share: float, *, salt: str) -> bool:
    """Whether `name` is among this share of all names; the same for every run."""
    digest = hashlib.sha256(f"{salt}:{name}".encode()).digest()
    return int.from_bytes(digest[:4], "big") < share * 2**32


class Refusals:
    """Which tries at a message are refused for now: a share of them, and never for ever."""

    def __init__(self) -> None:
        """Nothing has been tried yet."""
        self._tries: Counter[str] = Counter()

    def refuses(self, name: str, share: float) -> bool:
        """Whether this further try at `name` is refused."""
        self._tries[name] += 1
        number = self._tries[name]
        return number <= MOST_IN_A_ROW and picked(f"{name}/{number}", share, salt="refused")
