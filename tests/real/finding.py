"""What was found of a real service, or why nothing was."""

from __future__ import annotations

import os
import shutil
import socket
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

PATIENCE = 30.0
"""Seconds in which a server must answer after its start."""


class Missing(Exception):
    """The machine has no such service. Says why, and how to get one."""


def program(*names: str, folders: tuple[str, ...] = ()) -> Path | None:
    """The first of these programs on PATH, or in one of the `folders` where a system keeps it."""
    path = os.pathsep.join([os.environ.get("PATH", os.defpath), *folders])
    return next((Path(found) for name in names if (found := shutil.which(name, path=path))), None)


def free_port() -> int:
    """A port of loopback that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def short_folder() -> Path:
    """A folder for a server's files: under /tmp, because the name of a socket may have about 100 characters."""
    return Path(tempfile.mkdtemp(prefix="real-", dir="/tmp" if os.path.isdir("/tmp") else None))  # noqa: S108


def until(answers: Callable[[], object], *, what: str, patience: float = PATIENCE) -> None:
    """Wait until `answers` gives something true without an error; else Missing, with the last error."""
    end, last = time.monotonic() + patience, "no answer"
    while time.monotonic() < end:
        try:
            if answers():
                return
        except Exception as fault:  # noqa: BLE001 - whatever a server says before it is ready
            last = str(fault)
        time.sleep(0.05)
    raise Missing(f"{what} was started and did not answer within {patience:.0f} s: {last}")
