"""Where the machine reaches into a send: after the claim, after the begin, after the letter arrived, after the record.

At each point a worker may be killed, or something else may happen before it goes on. The real functions run in between;
what a worker without its lease writes, and when a try comes again, is judged here, where it happens.
"""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from random import Random
from typing import Any

import pytest

from clinic.services.witness import Witness
from followup.messaging.channel import Outcome, Sent
from followup.models import Flag, Message, Task
from followup.services import claim, deliver, dispatch, gaps, reply, sending_outcome, tick, understanding
from followup.services.claim import Claim
from followup.services.deliver import Delivered

POINTS = ("claimed", "begun", "written", "recorded", "kept")
"""Of a send the first four; the last: a reply is stored and not yet understood."""
EXPECTED = {"followup.services.deliver", "followup.services.understanding"}
"""Who may write an error down: a channel that raises, a reply that cannot be read."""


class Killed(BaseException):
    """This worker is gone; nothing of it runs on."""


@dataclass
class Steady:
    """The monotonic clock, in seconds."""

    now: float = 0.0

    def monotonic(self) -> float:
        """As time.monotonic."""
        return self.now


@dataclass
class Outside:
    """What no rolled back transaction forgets.

    `held`: the tokens with which each message's outcome was written down. `witness`: how far the database had come.
    """

    held: dict[str, set[str]] = field(default_factory=dict)
    witness: list[Witness] = field(default_factory=list)


@dataclass
class Wrong(logging.Handler):
    """What was seen to be wrong where it happened, and every error that the program wrote down."""

    seen: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """As a handler of a log."""
        super().__init__(logging.ERROR)

    def __hash__(self) -> int:
        """A handler is known by itself."""
        return id(self)

    def emit(self, record: logging.LogRecord) -> None:
        """Keep what nobody expects."""
        if record.name not in EXPECTED:
            self.seen.append(f"it broke: {record.getMessage()}")


@contextmanager
def reached_into(steady: Steady, meanwhile: Callable[[str], None], wrong: Wrong) -> Iterator[Outside]:
    """Put everything in its place; gives what is kept outside the database."""
    outside = Outside()
    held, witness = outside.held, outside.witness
    followup = logging.getLogger("followup")
    followup.addHandler(wrong)
    with pytest.MonkeyPatch.context() as patch:
        for module in (claim, dispatch, tick):
            patch.setattr(module, "time", steady)
        patch.setattr(gaps, "read_witness", lambda: witness[-1] if witness else None)
        patch.setattr(gaps, "write_witness", witness.append)
        patch.setattr(sending_outcome, "random", Random(7))  # noqa: S311 - the same waits in every run
        patch.setattr(dispatch, "claim", _claims(claim.claim, steady))
        patch.setattr(dispatch, "deliver", _delivers(deliver.deliver, meanwhile, wrong))
        patch.setattr(deliver, "record", _records(sending_outcome.record, meanwhile, wrong, held))
        patch.setattr(deliver, "_record", _commits(deliver._record, meanwhile))  # noqa: SLF001 - where it commits
        patch.setattr(reply, "understand", _understands(understanding.understand, meanwhile))
        yield outside
    followup.removeHandler(wrong)


def _claims(real: Callable[..., Claim | None], steady: Steady) -> Callable[..., Claim | None]:
    """A lease is counted by this life's monotonic clock."""

    def claims(*arguments: Any, **named: Any) -> Claim | None:
        found = real(*arguments, **named)
        return None if found is None else replace(found, at=steady.monotonic())

    return claims


def _delivers(
    real: Callable[..., Delivered], meanwhile: Callable[[str], None], wrong: Wrong
) -> Callable[..., Delivered]:
    def delivers(taken: Claim, *, now: dt.datetime, **more: Any) -> Delivered:
        wrong.seen.extend(_overtakes(taken.message, now))
        meanwhile("claimed")
        return real(taken, now=now, **more)

    return delivers


def _overtakes(message: Message, now: dt.datetime) -> Iterator[str]:
    """Invariant 11: what presses more and is due at the same time has been claimed before, alerts first of all."""
    if message.audience == Message.Audience.STAFF:
        return
    due = Message.objects.due(now).filter(due_at__lte=now)
    for alert in due.filter(audience=Message.Audience.STAFF):
        yield f"11: alert {alert.pk} waits while message {message.pk} is sent"
    being_written_to = Message.objects.filter(state=Message.State.LEASED).exclude(pk=message.pk).values("recipient")
    same = due.filter(audience=message.audience, medium=message.medium, practice=message.practice)
    for sooner in same.filter(priority__lt=message.priority).exclude(recipient__in=being_written_to):
        yield f"11: message {sooner.pk} presses more than {message.pk}"


def _records(
    real: Callable[..., bool], meanwhile: Callable[[str], None], wrong: Wrong, held: dict[str, set[str]]
) -> Callable[..., bool]:
    def records(message: Message, sent: Sent, channel: str, *, now: dt.datetime) -> bool:
        before = _stored(message)
        ours = before["lease_token"] == message.lease_token
        stood = real(message, sent, channel, now=now)
        after = _stored(message)
        if not ours and (stood or after != before):
            wrong.seen.append(f"7: a worker without its lease changed message {message.pk}")
        if ours:
            held.setdefault(message.message_id, set()).add(str(message.lease_token))
            wrong.seen.extend(_comes_again_at_a_wrong_time(after["message"], sent, now))
        return stood

    return records


def _commits(real: Callable[..., bool], meanwhile: Callable[[str], None]) -> Callable[..., bool]:
    """Afterwards the outcome and its try stand, both or neither."""

    def commits(*arguments: Any, **named: Any) -> bool:
        stood = real(*arguments, **named)
        meanwhile("recorded")
        return stood

    return commits


def _stored(message: Message) -> dict[str, Any]:
    """The row, and what a worker could do about it elsewhere."""
    row = Message.objects.values().get(pk=message.pk)
    flags = list(Flag.objects.filter(messages=message).values("step", "next_alert_at"))
    return {"message": row, "lease_token": row["lease_token"], "tasks": Task.objects.count(), "flags": flags}


def _comes_again_at_a_wrong_time(row: dict[str, Any], sent: Sent, now: dt.datetime) -> Iterator[str]:
    """Invariant 17: half a minute, doubled to a quarter of an hour, half more or less, and never past the end."""
    if row["state"] != Message.State.READY:
        return
    whole = 30 if sent.outcome is Outcome.UNKNOWN else min(30 * 2 ** (row["attempts"] - 1), 900)
    least, most = (now + dt.timedelta(seconds=whole * share) for share in (0.5, 1.5))
    if not min(least, row["expires_at"]) <= row["not_before"] <= min(most, row["expires_at"]):
        yield f"17: message {row['id']} comes again at {row['not_before']} after try {row['attempts']} at {now}"


def _understands(real: Callable[..., Any], meanwhile: Callable[[str], None]) -> Callable[..., Any]:
    def understands(*arguments: Any, **named: Any) -> Any:
        meanwhile("kept")
        return real(*arguments, **named)

    return understands
