"""What became of the first message to each person of a plan: told while the owner still stands there.

A first message that does not arrive is a wrong address, and now is the time to mend it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from clinic.models import Owner
from followup.models import Message, Plan
from followup.services.sending_words import clock_words, way_words

SHOWN_FOR = dt.timedelta(hours=24)
"""For so long after a plan was confirmed its page says it (D)."""


class Standing(StrEnum):
    """What can still change, what is good, and what a person must do something about."""

    COMING = "coming"
    ARRIVED = "arrived"
    TROUBLE = "trouble"
    IN_THE_TRAY = "in_the_tray"
    OVER = "over"


TRAY = "tray"
SAID = {
    Message.State.LEASED: (Standing.COMING, "on its way by {way}"),
    Message.State.SENT: (Standing.ARRIVED, "sent by {way} at {at}"),
    Message.State.FAILED: (Standing.TROUBLE, "could not be sent by {way}: {why}"),
    Message.State.PARKED: (Standing.TROUBLE, "may or may not have arrived by {way}: ask"),
    Message.State.EXPIRED: (Standing.TROUBLE, "was not sent in time by {way}"),
}
NOT_SENT = (Standing.OVER, "is not sent any more")


@dataclass(frozen=True)
class Fate:
    """One person's first message in words. `before`: what happened to it by another way; `person`: whose address."""

    who: str
    person: int
    standing: Standing
    words: str
    before: str = ""


def first_messages(plan: Plan, *, now: dt.datetime) -> tuple[Fate, ...]:
    """One for each person who gets a first message; none when the plan has not begun, or began long ago."""
    if plan.confirmed_at is None or now - plan.confirmed_at > SHOWN_FOR:
        return ()
    rows = plan.messages.filter(purpose=Message.Purpose.WELCOME).select_related("recipient__person").order_by("pk")
    of_person: dict[Owner, list[Message]] = {}
    for row in rows:
        if row.recipient is not None:
            of_person.setdefault(row.recipient.person, []).append(row)
    fates = [_fate(person, chain, plan, now=now) for person, chain in of_person.items()]
    return tuple(fates) or (_by_phone(plan.patient.owner),)


def is_settled(fates: Sequence[Fate]) -> bool:
    """Whether looking again would tell nothing new."""
    return all(each.standing is not Standing.COMING for each in fates)


def _fate(person: Owner, chain: Sequence[Message], plan: Plan, *, now: dt.datetime) -> Fate:
    """`chain`: the ways that were tried one after the other; the last one is what counts."""
    last = chain[-1]
    standing, words = _says(last, plan, now=now)
    before = " ".join(f"By {way_words(each.medium)}: {_refusal(each)}." for each in chain[:-1])
    return Fate(person.name, person.pk, standing, words, before)


def _says(message: Message, plan: Plan, *, now: dt.datetime) -> tuple[Standing, str]:
    way = way_words(message.medium)
    if message.state == Message.State.READY:
        return Standing.COMING, _waits(message, plan, now=now)
    if message.sent_through == TRAY:
        return Standing.IN_THE_TRAY, f"in the tray: no {way} is set up, so it has not left this house"
    standing, words = SAID.get(Message.State(message.state), NOT_SENT)
    at = _clock(message.sent_at, plan, now) if message.sent_at is not None else ""
    return standing, words.format(way=way, at=at, why=_refusal(message))


def _waits(message: Message, plan: Plan, *, now: dt.datetime) -> str:
    way, until = way_words(message.medium), _clock(message.not_before, plan, now)
    if plan.practice.messages_paused:
        return "waits: messages to owners are paused"
    if message.attempts:
        return f"could not be sent by {way} yet ({_refusal(message)}); tried again at {until}"
    if message.not_before > now:
        return f"waits until {until}, so that the enrolment can be taken back; then it goes by {way}"
    return f"on its way by {way}"


def _refusal(message: Message) -> str:
    return message.last_error or "no reason was given"


def _by_phone(owner: Owner) -> Fate:
    """Nobody was written to: there was no address, or no leave."""
    why = "does not want messages" if owner.email or owner.mobile else "no e-mail and no mobile"
    return Fate(owner.name, owner.pk, Standing.TROUBLE, f"{why}: every check-in is a call from the list")


def _clock(moment: dt.datetime, plan: Plan, now: dt.datetime) -> str:
    return clock_words(moment, plan.practice.zone, now=now)
