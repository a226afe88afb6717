"""The section on delivery, as `make bench` prints it."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial

from tests.bench.delivery import sizes
from tests.bench.delivery.costs import cost
from tests.bench.delivery.ground import POSTGRES, SQLITE, Ground, ground
from tests.bench.delivery.killing import toll
from tests.bench.delivery.replies import answered
from tests.bench.delivery.speed import rate
from tests.bench.delivery.ways import Way, bare, celery, jobs, ours, seed
from tests.bench.measuring import Measured
from tests.faults.rig import Rig
from tests.real.finding import Missing

DATABASES = (SQLITE, POSTGRES)
MakeWay = Callable[[], Way]
CLAIMS = "tests.bench.delivery.claims"


def delivery() -> None:
    """Print it."""
    print(f"delivery to a mail server on this machine, a connection a message{SHORTENED}; {cost()}")
    with ground() as where:
        _head(where)
        _speeds(where)
        _tolls(where)
        for on in DATABASES:
            _try(f"a claim, {on}", partial(_claims, where, on))
        for on in DATABASES:
            _try(f"replies, {on}", partial(_replies, where, on))


SHORTENED = " (BENCH=short: it runs, no figures)" if sizes.SHORT else ""


def _head(where: Ground) -> None:
    """What commits are worth here."""
    _try(
        "postgres", lambda: print(f"  sqlite: WAL, synchronous FULL; {where.postgres}: synchronous_commit on, fsync on")
    )
    _try("redis", lambda: print(f"  {where.redis}, nothing on the disk"))


def _speeds(where: Ground) -> None:
    """Each way with one worker and with four; ours beside the bare limit of its database."""
    sizes_ = ", ".join(f"{many} with {workers}" for workers, many in sizes.TO_SEND.items())
    print(f"  messages a second, workers as processes ({sizes_}), middle half by the mail server's log")
    for on in DATABASES:
        limit = _rates(bare(on), where)
        _rates(ours(on), where, beside=limit)
    _rates(celery(), where)
    _try("procrastinate", lambda: _rates(jobs(), where))


def _rates(way: Way, where: Ground, *, beside: Sequence[float] = ()) -> list[float]:
    found: list[float] = []
    _try(way.name, lambda: found.extend(rate(way, where, workers) for workers in sizes.WORKERS))
    if not found:
        return []
    shares = ", ".join(f"{100 * mine / theirs:.0f} %" for mine, theirs in zip(found, beside, strict=False))
    rates = "  ".join(f"{each:7.1f}" for each in found)
    print(f"    {way.name:32} {rates}{f'   {shares} of plain SQL' if shares else ''}")
    return found


def _tolls(where: Ground) -> None:
    """Every way at once, since none of them is timed: most of it is waiting for leases."""
    print(
        f"  SIGKILL to all {max(sizes.WORKERS)} workers when {', '.join(f'{each:.0%}' for each in sizes.KILL_AT)} of "
        f"{sizes.KILLED} have arrived (lease, visibility and heartbeat time-out {sizes.LEASE} s)"
    )
    every: list[MakeWay] = [*(partial(ours, on) for on in DATABASES), celery, jobs]
    with ThreadPoolExecutor(len(every)) as pool:
        for name, line in pool.map(lambda make: _toll(make, where), every):
            print(f"    {name:32} {line}")


def _toll(make: MakeWay, where: Ground) -> tuple[str, str]:
    try:
        way = make()
        return way.name, str(toll(way, where))
    except Missing as why:
        return "one way", f"left out: {why}"


def _claims(where: Ground, on: str) -> None:
    with where.ours(on) as rig:
        seed(rig, f"due({2 * (sizes.CLAIMS + 10)})")
        _claim(rig, on, 0)
        seed(rig, f"later({sizes.FUTURE})")
        _claim(rig, on, sizes.FUTURE)


def _claim(rig: Rig, on: str, future: int) -> None:
    took = Measured(tuple(json.loads(rig.processes.run("python", "-m", CLAIMS, str(sizes.CLAIMS)))))
    print(f"  a claim, {on:8}, {future:6} messages due later: {_at(took, 0.5)}  {_at(took, 0.99)}  n {len(took.times)}")


def _replies(where: Ground, on: str) -> None:
    found = answered(where, on)
    print(
        f"  replies, {on:8}, {sizes.REPLIES_A_SECOND} a second for {sizes.REPLIES_FOR} s while {sizes.DUE_MEANWHILE} "
        f"messages are sent by {sizes.REPLIES_DISPATCHERS} dispatchers: {_at(found.posts, 0.5)}  "
        f"{_at(found.posts, 0.99)}  {found.finished} whole check-ins, {found.refused} not kept; all messages sent in "
        f"{found.drained:.0f} s"
    )


def _at(took: Measured, share: float) -> str:
    return f"p{100 * share:.0f} {took.at(share):7.2f} ms"


def _try(what: str, step: Callable[[], object]) -> None:
    """A part for which this machine has not what it needs is left out, in a sentence."""
    try:
        step()
    except Missing as why:
        print(f"  {what} left out: {why}")
