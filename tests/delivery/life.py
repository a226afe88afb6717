"""A life of two practices, told in commands of plain values, so that the same life can be lived on another database."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass, field, replace
from typing import Any

from django.db import transaction

from followup.domain.terms import FollowUpError
from followup.models import Plan
from followup.services.due import next_due
from followup.services.gaps import LOST
from followup.services.tick import tick
from tests.delivery.deeds import DEEDS
from tests.delivery.final import differences, state_of_all
from tests.delivery.people import People
from tests.delivery.seams import Killed, Outside, Steady, Wrong, reached_into
from tests.delivery.sink import Sink

MINUTE = dt.timedelta(minutes=1)
NEXT = -1
"""Instead of minutes: until anything falls due."""
LONGEST = dt.timedelta(days=2)
Command = tuple[str, dict[str, Any]]


@dataclass
class Before:
    """What earlier steps have shown: how each message ended, how bad each flag ever was, who ever stopped messages."""

    ended: dict[int, str] = field(default_factory=dict)
    worst: dict[int, int] = field(default_factory=dict)
    stopped: set[int] = field(default_factory=set)


@dataclass(frozen=True)
class Backup:
    """The database as it was, and what was known of it."""

    savepoint: str
    last_tick: dt.datetime
    plans: list[Plan]
    receipts: int
    before: Before


@dataclass
class Fault:
    """At the `nth` passing of a point (from 0): `meanwhile` happens, or with None the worker is killed."""

    at: str
    nth: int
    meanwhile: Command | None
    happened: bool = False


class Life:
    """`commands` is what was done; `whole`: nothing has happened since a tick that ran to its end at `now`."""

    def __init__(self, people: People) -> None:
        """Begin when the first patients come home."""
        self.people = replace(people, plans=list(people.plans))
        self.now, self.moved_on = people.home, dt.timedelta(0)
        self.steady, self.wrong = Steady(), Wrong()
        self.sink = Sink(clock=lambda: self.now, meanwhile=self._pass)
        self.commands: list[Command] = []
        self.receipts: list[tuple[int, str]] = []
        self.whole = False
        self.outside = Outside()
        self.before = Before()
        self.backup: Backup | None = None
        self._faults: list[Fault] = []

    @contextmanager
    def lived(self) -> Iterator[Life]:
        """In a savepoint that is rolled back, with everything in its place to reach into a send."""
        begun = transaction.savepoint()
        try:
            with reached_into(self.steady, self._pass, self.wrong) as self.outside:
                yield self
        finally:
            transaction.savepoint_rollback(begun)

    def do(self, name: str, **arguments: Any) -> None:
        """Do one thing, and remember it."""
        self.commands.append((name, arguments))
        self._do(name, dict(arguments))

    def _do(self, name: str, arguments: dict[str, Any]) -> None:
        own = (self.tick, self.tick_again, self.tick_at_once, self.jump, self.back_up, self.restore)
        if mine := next((each for each in own if each.__name__ == name), None):
            mine(**arguments)
            return
        self.whole = False
        self._deed(name, arguments)

    def _deed(self, name: str, arguments: dict[str, Any]) -> None:
        """Something that people do. What is refused has changed nothing."""
        deed = DEEDS[name]
        before, practice = state_of_all(), None
        try:
            with self._fault(arguments.pop("fault", None)):
                practice = deed(self, **arguments)
        except FollowUpError as refusal:
            if state_of_all() != before:
                self.wrong.seen.append(f"{name} was refused ({refusal}) and has changed something")
            return
        if practice is not None:
            self._touched_only(practice, name, before)

    def _touched_only(self, practice: int, name: str, before: dict[str, Any]) -> None:
        """Invariant 15: what is done in one practice changes no row of another."""
        after = state_of_all()
        for number, other in enumerate(self.people.practices):
            if number != practice and after[other.slug] != before[other.slug]:
                self.wrong.seen.append(f"15: {name} in practice {practice} changed {other.slug}")

    def tick(
        self,
        minutes: int,
        mail: Sequence[str] = (),
        text: Sequence[str] = (),
        fault: Any = None,
        *,
        down: bool = False,
    ) -> None:
        """Time passes, and a worker does what is due; `mail` and `text` are what these channels answer.

        `down`: nothing was sent meanwhile. Else it is as if ticks had passed at which nothing was due.
        """
        self._pass_time(minutes, down=down)
        kept = self.sink.answers
        self.sink.answers = {"email": list(mail), "sms": list(text)}
        with self._fault(fault) as faulty:
            tick(now=self.now, choose=self.sink.choose, moved_on=self.moved_on)
        self.sink.answers = kept
        self.whole = not faulty.happened

    def tick_again(self, minutes: int) -> None:
        """Invariant 12: run twice more at one moment, a tick changes nothing. What was in doubt is settled first."""
        settled = self.whole
        self.tick(minutes)
        if not settled:
            self.tick(0)
        before, letters = state_of_all(), len(self.sink.lines)
        for _ in range(2):
            self.tick(0)
        after = state_of_all()
        if (after, len(self.sink.lines)) != (before, letters):
            self.wrong.seen.append(f"12: the same tick once more has changed something\n{differences(before, after)}")

    def tick_at_once(self, minutes: int, at: str, nth: int) -> None:
        """Invariant 12: two workers at once do what two in turn do: what is late by several steps takes one a tick."""
        self._pass_time(minutes)
        begun, letters, known = transaction.savepoint(), len(self.sink.lines), len(self.outside.witness)
        self.tick(0)
        self.tick(0)
        alone, to_whom = state_of_all(), sorted(each.what for each in self.sink.lines[letters:])
        transaction.savepoint_rollback(begun)
        del self.sink.lines[letters:], self.outside.witness[known:]
        self.tick(0, fault={"at": at, "nth": nth, "meanwhile": ("tick", {"minutes": 0})})
        both = state_of_all()
        if (both, sorted(each.what for each in self.sink.lines[letters:])) != (alone, to_whom):
            self.wrong.seen.append(f"12: two ticks at once came to something else\n{differences(alone, both)}")
        self.whole = True

    def jump(self, minutes: int) -> None:
        """The clock on the wall is set; the monotonic one goes on."""
        self.now += minutes * MINUTE
        self.whole = False

    def back_up(self) -> None:
        """A copy of the database is made."""
        known = self.outside.witness
        if known:
            kept = deepcopy(self.before)
            plans = list(self.people.plans)
            self.backup = Backup(transaction.savepoint(), known[-1].at, plans, len(self.receipts), kept)

    def restore(self) -> None:
        """It is put back, more than a minute old: the world outside remembers what the database has forgotten."""
        old = self.backup
        if old is None or abs(self.outside.witness[-1].at - old.last_tick) <= LOST:
            return
        transaction.savepoint_rollback(old.savepoint)
        self.people.plans, self.before = list(old.plans), deepcopy(old.before)
        del self.receipts[old.receipts :]
        self.whole = False

    def end(self) -> None:
        """Everything works again, for as long as anything may still be under way."""
        for number in range(len(self.people.practices)):
            self.do("resume", practice=number)
        self.do("tick", minutes=1)
        self.do("confirm")
        for minutes in (2, 3 * 60, NEXT, 24 * 60, 2):
            self.do("tick", minutes=minutes)

    def _pass_time(self, minutes: int, *, down: bool = False) -> None:
        before = self.now
        if minutes == NEXT:
            self.now = min(next_due(self.now) or self.now + LONGEST, self.now + LONGEST)
        else:
            self.now += minutes * MINUTE
        self.steady.now += (self.now - before).total_seconds()
        self.moved_on += dt.timedelta(0) if down else self.now - before

    @contextmanager
    def _fault(self, fault: dict[str, Any] | None) -> Iterator[Fault]:
        """While it lasts, `fault` waits for its point. A worker that was killed leaves everything as it is."""
        mine = Fault(**fault) if fault else Fault("nowhere", 0, None)
        self._faults.append(mine)
        try:
            yield mine
        except Killed:
            pass
        finally:
            self._faults.remove(mine)

    def _pass(self, point: str) -> None:
        """A worker passes a point. What happens there meanwhile meets faults of its own alone."""
        fault = self._faults[-1]
        if fault.at != point or fault.happened:
            return
        if fault.nth:
            fault.nth -= 1
            return
        fault.happened = True
        if fault.meanwhile is None:
            raise Killed
        name, arguments = fault.meanwhile
        self._do(name, dict(arguments))
