"""Measuring one step many times, and the machine that it was measured on."""

from __future__ import annotations

import os
import platform
import sqlite3
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import django


@dataclass(frozen=True)
class Measured:
    """Milliseconds of each run."""

    times: tuple[float, ...]

    def at(self, share: float) -> float:
        """The time that this share of the runs kept."""
        ordered = sorted(self.times)
        return ordered[min(int(len(ordered) * share), len(ordered) - 1)]

    def __str__(self) -> str:
        mean = statistics.mean(self.times)
        return f"p50 {self.at(0.5):7.2f} ms   p95 {self.at(0.95):7.2f} ms   mean {mean:7.2f} ms   n {len(self.times)}"


def measure(
    step: Callable[[], object], *, times: int, first: int = 3, before: Callable[[], object] = lambda: None
) -> Measured:
    """Run `step` so often, after a few runs that do not count; `before` each, which is not measured."""
    return Measured(tuple(_once(step, before) for _ in range(first + times))[first:])


def _once(step: Callable[[], object], before: Callable[[], object]) -> float:
    before()
    begun = time.perf_counter()
    step()
    return (time.perf_counter() - begun) * 1000


def machine() -> str:
    """What it ran on, in one line."""
    cpu = Path("/proc/cpuinfo")
    lines = cpu.read_text(encoding="utf-8").splitlines() if cpu.exists() else []
    model = next((line.split(":")[1].strip() for line in lines if line.startswith("model name")), platform.processor())
    return (
        f"{model}, {os.cpu_count()} cores; {platform.system()}, Python {platform.python_version()}, "
        f"Django {django.__version__}, SQLite {sqlite3.sqlite_version}"
    )
