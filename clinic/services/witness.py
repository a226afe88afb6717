"""The witness: a small file outside the database that knows how far the database had come.

A database that knows less than the file says has been put back from a backup, and what fell due in between may have
gone out already. Whoever keeps copies of the data folder leaves this file out of them.
"""

from __future__ import annotations

import datetime as dt
import json
import logging
import os
import threading
import uuid
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from django.conf import settings

logger = logging.getLogger(__name__)

FILE = "witness.json"


@dataclass(frozen=True)
class Witness:
    """Of which installation, how many ticks it had begun, and when it began the last of them."""

    epoch: uuid.UUID
    ticks: int
    at: dt.datetime


def read_witness() -> Witness | None:
    """What the file says; None when there is none, or none that can be read: that is logged, and is not fatal."""
    try:
        found = json.loads(_file().read_text(encoding="utf-8"))
        at = dt.datetime.fromisoformat(found["last_tick"])
        return Witness(uuid.UUID(found["installation"]), int(found["ticks"]), at.astimezone(dt.UTC))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        _say_once(f"The witness {_file()} cannot be read ({type(fault).__name__}): a restored backup is not noticed.")
        return None


def write_witness(witness: Witness) -> None:
    """Write it wholly or not at all, down to the disk. What the disk refuses is logged, and stops nothing."""
    told = {"installation": str(witness.epoch), "ticks": witness.ticks, "last_tick": witness.at.isoformat()}
    unfinished = _file().with_name(f".{FILE}.{os.getpid()}.{threading.get_ident()}")
    try:
        with unfinished.open("w", encoding="utf-8") as file:
            json.dump(told, file)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(_file())
    except OSError as fault:
        _say_once(f"The witness {_file()} cannot be written ({fault.strerror}): a restored backup is not noticed.")


def _file() -> Path:
    return Path(settings.DATA_DIR) / FILE


@lru_cache(maxsize=16)
def _say_once(words: str) -> None:
    """Every tick would say it again."""
    logger.warning(words)
