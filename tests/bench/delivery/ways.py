"""The ways to send that are compared: how messages are queued, which processes send them, and what they have left."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from importlib.util import find_spec

import redis

from tests.bench.delivery.ground import POSTGRES, SQLITE, Ground
from tests.bench.delivery.sizes import LEASE
from tests.faults.rig import Rig
from tests.real.finding import Missing

PACKAGE = "tests.bench.delivery"
Command = list[str]


@dataclass(frozen=True)
class Way:
    """`queue` makes so many messages that are due; `workers` are commands, one a process; `left` counts what is open.

    `loses`: it takes up again what dead workers held, so that killing them says something.
    """

    name: str
    stand: Callable[[Ground], AbstractContextManager[Rig]]
    queue: Callable[[Rig, int], object]
    workers: Callable[[int], Sequence[Command]]
    left: Callable[[Rig], int] = field(default=lambda _rig: 0)


def ours(on: str) -> Way:
    """This program: `manage.py dispatch`, any number of copies."""

    def queue(rig: Rig, many: int) -> None:
        from tests.faults.seeds import DUE  # noqa: PLC0415 - reads models, which need Django set up

        seed(rig, f"due({many})")
        rig.be_at(DUE)

    return Way(
        name=f"ours, {on}",
        stand=lambda ground: ground.ours(on),
        queue=queue,
        workers=lambda many: [["python", "manage.py", "dispatch"]] * many,
        left=lambda rig: rig.count("followup_message", "state IN ('ready', 'leased')"),
    )


def bare(on: str) -> Way:
    """Plain SQL and smtplib."""
    program = ["python", "-m", f"{PACKAGE}.bare"]
    return Way(
        name=f"plain SQL and smtplib, {on}",
        stand=lambda ground: ground.empty(on),
        queue=lambda rig, many: rig.processes.run(*program, "queue", str(many)),
        workers=lambda many: [[*program, "send"]] * many,
    )


def celery() -> Way:
    """One worker of Celery, with as many children as there are to be workers."""
    worker = ["celery", "-A", f"{PACKAGE}.eta", "worker", "--loglevel", "error", "--concurrency"]
    return Way(
        name="Celery with ETA, Redis",
        stand=lambda ground: ground.empty(SQLITE, REDIS_URL=_emptied(ground), VISIBILITY_TIMEOUT=str(LEASE)),
        queue=lambda rig, many: rig.processes.run("python", "-m", f"{PACKAGE}.eta", str(many)),
        workers=lambda many: [[*worker, str(many)]],
        left=_left_in_redis,
    )


def jobs() -> Way:
    """procrastinate. Raises Missing where it is not installed."""
    if find_spec("procrastinate") is None:
        raise Missing("procrastinate is not installed: pip install -r requirements-test.txt")
    program = ["python", "-m", f"{PACKAGE}.jobs"]
    return Way(
        name="procrastinate, postgres",
        stand=lambda ground: ground.empty(POSTGRES),
        queue=lambda rig, many: rig.processes.run(*program, "queue", str(many)),
        workers=lambda many: [[*program, "send", str(LEASE)]] * many,
        left=lambda rig: rig.count("procrastinate_jobs", "task_name = 'send' AND status IN ('todo', 'doing')"),
    )


def seed(rig: Rig, call: str) -> str:
    """Run a call of `seeds` in a process of the program; what it printed."""
    return rig.processes.run(
        "python", "manage.py", "shell", "-v", "0", "-c", f"from tests.bench.delivery import seeds; seeds.{call}"
    )


def _emptied(ground: Ground) -> str:
    ground.redis.empty()
    return ground.redis.url


def _left_in_redis(rig: Rig) -> int:
    """Queued, or with a worker that has not acknowledged it; kombu's names for both."""
    with redis.Redis.from_url(rig.processes.environment["REDIS_URL"]) as client:
        return int(client.llen("celery")) + int(client.hlen("unacked"))
