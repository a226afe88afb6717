"""Where letters arrive: each is written down before anything is answered, so that the log is the one witness."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from followup.domain.terms import Level
from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import Message, Plan, Recipient, Reply

LATEST = dt.timedelta(seconds=90)
"""How much later than its `now` a worker may still hand in: its lease."""
PARTING = {Message.Purpose.GOODBYE, Message.Purpose.NEWS}
"""What may still be said when a follow-up has ended."""


@dataclass(frozen=True)
class Answer:
    """What the sink answers. `arrives`: the letter is written down all the same; `sent` None: it raises."""

    sent: Sent | None
    arrives: bool = False


ANSWERS = {
    "ok": Answer(Sent(Outcome.OK), arrives=True),
    "refused": Answer(Sent(Outcome.PERMANENT, "550")),
    "busy": Answer(Sent(Outcome.TRANSIENT, "451")),
    "down": Answer(Sent(Outcome.TRANSIENT, "no connection", whole_channel=True)),
    "wrong": Answer(Sent(Outcome.CONFIG, "535", whole_channel=True)),
    "silent": Answer(Sent(Outcome.UNKNOWN), arrives=True),
    "lost": Answer(Sent(Outcome.UNKNOWN)),
    "raises": Answer(None, arrives=True),
}


class Broke(Exception):
    """What a provider's library raises."""


@dataclass(frozen=True)
class Line:
    """A letter that arrived. `asks`: for which check-ins and doses. `begun`: when its worker began to hand it in;

    `wrong`: what forbade it at that moment.
    """

    message_id: str
    purpose: str
    medium: str
    to: str
    asks: tuple[str, ...]
    flag: int | None
    begun: dt.datetime
    answer: str
    wrong: tuple[str, ...] = ()

    @property
    def what(self) -> tuple[str, str, str]:
        """What it is and to whom, as any reader sees it."""
        return self.purpose, self.medium, self.to


@dataclass
class Sink:
    """Channels of every medium. `answers`: what each medium answers next; when they run out, "ok".

    `clock` tells the moment; `meanwhile` happens at each point of a send, by its name.
    """

    clock: Callable[[], dt.datetime]
    meanwhile: Callable[[str], None]
    answers: dict[str, list[str]] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)

    def choose(self, message: Message) -> Hatch:
        """The channel for one message that has just begun. What forbids it is looked up now, as it is stored now."""
        hatch = Hatch(self, message, self.clock(), tuple(forbidden(message, self.clock(), self.lines)))
        self.meanwhile("begun")
        return hatch

    def next_answer(self, medium: str) -> str:
        """What this medium answers now."""
        waiting = self.answers.get(medium)
        return waiting.pop(0) if waiting else "ok"


@dataclass
class Hatch:
    """The sink, open for one message."""

    sink: Sink
    message: Message
    begun: dt.datetime
    wrong: tuple[str, ...]
    name = "sink"

    def send(self, letter: Letter) -> Sent:
        """Write the letter down, then answer."""
        said = self.sink.next_answer(self.message.medium)
        answer, row = ANSWERS[said], self.message
        if answer.arrives:
            wrong = self.wrong + _astray(row, letter)
            asks, about = _asks(row), (row.purpose, row.medium, letter.to)
            self.sink.lines.append(Line(row.message_id, *about, asks, row.flag_id, self.begun, said, wrong))
        self.sink.meanwhile("written")
        if answer.sent is None:
            raise Broke
        return answer.sent


def forbidden(message: Message, now: dt.datetime, lines: list[Line]) -> list[str]:
    """Why this message may not reach anybody now; empty: it may. Invariants 5, 6 and 15."""
    row = Message.objects.select_related("plan", "practice", "recipient__person", "flag").get(pk=message.pk)
    if row.recipient is None or row.plan is None:
        return []
    spoken_of = {row.plan, *Plan.objects.filter(check_ins__messages=row), *Plan.objects.filter(doses__messages=row)}
    over = {plan.state for plan in spoken_of} != {Plan.State.RUNNING} and row.purpose not in PARTING
    reasons = {
        "5: it wakes the owner": _wakes(row, row.recipient, now, lines),
        "6: its time is over": now > row.expires_at + LATEST,
        "6: the owner has stopped messages": row.recipient.stopped_at is not None,
        "6: a follow-up that it speaks of has ended": over,
        "6: a follow-up that it speaks of is paused": any(plan.paused for plan in spoken_of),
        "6: the practice has paused messages": row.practice.messages_paused,
        "15: it is another practice's": {row.practice_id}
        != {each.practice_id for each in (*spoken_of, row.recipient, row.recipient.person)},
    }
    return [reason for reason, holds in reasons.items() if holds]


def asleep(recipient: Recipient, moment: dt.datetime) -> bool:
    """By the person's own clock on the wall."""
    person = recipient.person
    clock = moment.astimezone(ZoneInfo(person.time_zone)).time()
    if person.wakes < person.sleeps:
        return not person.wakes <= clock < person.sleeps
    return person.sleeps <= clock < person.wakes


def _wakes(row: Message, recipient: Recipient, now: dt.datetime, lines: list[Line]) -> bool:
    """Whether it reaches a sleeper though it is none of the three kinds that may. Clinical defaults, 13."""
    if not asleep(recipient, now) or row.purpose == Message.Purpose.WELCOME:
        return False
    if row.purpose != Message.Purpose.ADVICE:
        return asleep(recipient, now - LATEST)
    return not _answers_him(recipient, now) and not _may_wake(row, recipient, now, lines)


def _answers_him(recipient: Recipient, now: dt.datetime) -> bool:
    """Within ten minutes of his own message."""
    since = now - dt.timedelta(minutes=10) - LATEST
    return Reply.objects.filter(recipient=recipient, received_at__gte=since, received_at__lte=now).exists()


def _may_wake(row: Message, recipient: Recipient, now: dt.datetime, lines: list[Line]) -> bool:
    """An emergency of somebody who agreed, at most once an hour and flag."""
    flag = row.flag
    if flag is None or flag.worst != Level.EMERGENCY or not recipient.person.agrees("wake_me_at_night"):
        return False
    to, hour = {str(recipient.person.email), str(recipient.person.mobile)}, now - dt.timedelta(hours=1) + LATEST
    of_flag = [each for each in lines if each.flag == flag.pk and each.to in to and each.message_id != row.message_id]
    return not any(
        each.answer == "ok" and hour < each.begun <= now and asleep(recipient, each.begun) for each in of_flag
    )


def _asks(row: Message) -> tuple[str, ...]:
    """What it asks for, by names that a restored backup does not give to anything else."""
    check_ins = [f"{each.plan_id} {each.kind} {each.at}" for each in row.check_ins.all()]
    return (
        *check_ins,
        *(f"{each.plan_id} {each.drug} {each.at} {each.amount} {each.held}" for each in row.doses.all()),
    )


def _astray(row: Message, letter: Letter) -> tuple[str, ...]:
    if row.recipient is None:
        return ()
    person = row.recipient.person
    ours = {str(person.email), str(person.mobile)} - {""}
    here = f"/o/{row.practice.slug}/" in letter.leave_link
    return () if letter.to in ours and here else ("15: it went to somebody else",)
