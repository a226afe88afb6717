"""manage.py as a process of its own, with no settings but those given."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def surroundings(folder: Path, **more: str) -> dict[str, str]:
    """The environment of a process over the data in `folder`."""
    return {"PATH": os.environ["PATH"], "DATA_DIR": str(folder), "PYTHONUNBUFFERED": "1", **more}


def python(*arguments: str, folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run Python to its end, a minute at most."""
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=surroundings(folder, **more),
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def manage(*arguments: str, folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a command to its end."""
    return python("manage.py", *arguments, folder=folder, **more)


def start(*arguments: str, folder: Path, **more: str) -> subprocess.Popen[str]:
    """Start a command that goes on; what it says and complains of comes in one stream."""
    return subprocess.Popen(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=surroundings(folder, **more),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
