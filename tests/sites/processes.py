"""Processes of a site: started together, each with a log of its own, stopped in order or killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.command import ROOT

STOPS_WITHIN = 45
"""Seconds. A running task is let end; STOP_SECONDS of the embedded threads is the longest."""


@dataclass
class Processes:
    """Started by name, in the program's folder, with the same environment."""

    logs: Path
    environment: Mapping[str, str]
    running: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    def start(self, name: str, command: Sequence[str], **more: str) -> None:
        """Start one; what it says goes to its log, after what an earlier one of that name said.

        `more`: of its environment alone.
        """
        with (self.logs / f"{name}.log").open("ab") as log:
            self.running[name] = subprocess.Popen(
                [_found(command[0]), *command[1:]],
                cwd=ROOT,
                env={**self.environment, **more},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,  # a kill reaches its children too
            )

    def run(self, *command: str) -> str:
        """Run one to its end; what it said."""
        done = subprocess.run(
            [_found(command[0]), *command[1:]],
            cwd=ROOT, env=dict(self.environment), capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def kill(self, name: str) -> None:
        """As a power cut does, its children with it."""
        process = self.running.pop(name)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    def stop(self) -> dict[str, int]:
        """Ask each to end, all at once; the exit code of each. Whoever does not end is killed."""
        for process in self.running.values():
            if process.poll() is None:
                process.terminate()
        codes = {}
        for name, process in self.running.items():
            try:
                codes[name] = process.wait(STOPS_WITHIN)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                codes[name] = process.wait()
        self.running.clear()
        return codes

    def said(self) -> str:
        """The end of every log."""
        return "\n".join(f"--- {log.stem}\n{log.read_text()[-4000:]}" for log in sorted(self.logs.glob("*.log")))


def _found(program: str) -> str:
    """The program beside the Python that runs the tests."""
    beside = Path(sys.executable).parent / program
    return sys.executable if program == "python" else str(beside) if beside.exists() else program
