"""What each way loses, and what it sends twice, when all of its workers are killed in the middle of their work."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

from tests.bench.delivery.ground import Ground
from tests.bench.delivery.sizes import ANSWERS_IN, KILL_AT, KILLED, PACE, WORKERS
from tests.bench.delivery.speed import arrived, begin, due_lines
from tests.bench.delivery.ways import Way
from tests.faults.rig import Rig
from tests.faults.sinks.witness import Line, copies
from tests.real.finding import until

PATIENCE = 180.0
"""Seconds for the whole of one run."""


@dataclass(frozen=True)
class Toll:
    """What came of a run, by the mail server's log alone. `most`: copies of one message."""

    sent: int
    lost: int
    extra: int
    most: int
    kills: int

    def __str__(self) -> str:
        twice = f"extra copies {self.extra} (of one at most {self.most})"
        return f"lost {self.lost}, {twice}, of {self.sent}; killed {self.kills} times"


def toll(way: Way, ground: Ground) -> Toll:
    """Kill every worker with SIGKILL each time that so much has arrived, start them again, and wait for the end."""
    with way.stand(ground) as rig:
        rig.mail.be(takes=ANSWERS_IN, synced=False)
        way.queue(rig, KILLED)
        names = begin(rig, way, max(WORKERS), pace=PACE)
        for share in KILL_AT:
            enough = partial(_has_come, rig, share * KILLED)
            until(enough, what=f"{way.name}: {share:.0%}", patience=PATIENCE)
            _kill(rig, names)
        until(lambda: arrived(rig) and not way.left(rig), what=f"the end of {way.name}", patience=PATIENCE)
        arrived(rig)  # what was acknowledged before it was sent is on its way still
        return counted(due_lines(rig), KILLED, kills=len(KILL_AT))


def counted(lines: Iterable[Line], sent: int, *, kills: int) -> Toll:
    """Every message that was to arrive has a key of its own."""
    by_key = copies(lines)
    return Toll(
        sent=sent,
        lost=sent - len(by_key),
        extra=by_key.total() - len(by_key),
        most=max(by_key.values(), default=0),
        kills=kills,
    )


def _has_come(rig: Rig, many: float) -> bool:
    return arrived(rig) >= many


def _kill(rig: Rig, names: Iterable[str]) -> None:
    """All of them at one moment; then all start again."""
    for name in names:
        rig.kill(name)
    for name in names:
        command, more = rig.commands[name]
        rig.processes.start(name, command, **more)
