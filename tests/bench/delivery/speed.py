"""Messages a second in each way, by the mail server's log."""

from __future__ import annotations

import time
from collections.abc import Sequence

from tests.bench.delivery.ground import Ground
from tests.bench.delivery.sizes import TO_SEND
from tests.bench.delivery.ways import Way
from tests.faults.rig import Rig
from tests.faults.sinks.witness import Line
from tests.real.finding import until

PATIENCE = 120.0
"""Seconds for all of them."""
LOOK_EVERY = 0.2
DUE = "due"
"""How the addresses of all messages begin that are counted, in each of the ways."""


def rate(way: Way, ground: Ground, workers: int) -> float:
    """Messages a second, sent by so many workers to a mail server that answers at once."""
    many = TO_SEND[workers]
    with way.stand(ground) as rig:
        rig.mail.be(synced=False)
        way.queue(rig, many)
        begin(rig, way, workers, pace=1)
        until(lambda: arrived(rig) >= many, what=f"{way.name}: {many} messages", patience=PATIENCE)
        return steady([line.at for line in due_lines(rig)])


def begin(rig: Rig, way: Way, workers: int, *, pace: int) -> list[str]:
    """Start the workers; their names."""
    commands = dict(enumerate(way.workers(workers)))
    for number, command in commands.items():
        rig.start(f"sender-{number}", command, TRIAL_PACE=str(pace))
    return [f"sender-{number}" for number in commands]


def arrived(rig: Rig) -> int:
    """How many of the messages that are counted the mail server has written down so far, copies too."""
    time.sleep(LOOK_EVERY)
    return rig.mail.log.read_bytes().count(f'"to": "{DUE}'.encode())


def due_lines(rig: Rig) -> list[Line]:
    """What it has written down of them; others may write to it too, such as our hourly look whether sending works."""
    return [line for line in rig.mail.lines if line.to.startswith(DUE)]


def steady(moments: Sequence[float]) -> float:
    """Messages a second in the middle half of them: how long the workers took to start is no part of it."""
    ordered = sorted(moments)
    first, last = len(ordered) // 4, len(ordered) * 3 // 4
    return (last - first) / (ordered[last] - ordered[first])
