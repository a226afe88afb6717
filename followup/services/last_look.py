"""The last look before a message goes out: is it still wanted, and may it reach its reader at this hour?"""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from followup.domain.hours import OwnerHours
from followup.domain.night_rule import Kind, Knock, may_reach, next_chance
from followup.domain.terms import Level
from followup.models import CheckIn, Dose, Flag, Message, Plan, Recipient, Reply
from followup.services.facts import hours_of
from followup.services.log import log
from followup.services.sending_outcome import finish


def no_longer_wanted(message: Message) -> str:
    """Why this message is not sent after all; empty: it is."""
    if message.audience == Message.Audience.STAFF:
        return _somebody_has_it(message.flag)
    plan = message.plan
    if plan is None:
        return ""
    parting = message.purpose in {Message.Purpose.GOODBYE, Message.Purpose.NEWS}
    stopped = message.recipient is not None and message.recipient.stopped_at is not None
    reasons = {
        "paused": bool(plan.paused) or plan.practice.messages_paused,
        "the follow-up has ended": plan.state != Plan.State.RUNNING and not parting,
        "messages were stopped": stopped,
        "answered already": _answered(message),
        "the plan was changed": _overtaken(message),
    }
    return next((reason for reason, holds in reasons.items() if holds), "")


def must_wait(message: Message, *, now: dt.datetime) -> bool:
    """The night rule, asserted at the adapter and logged: what may not reach the owner now waits until it may."""
    plan, recipient = message.plan, message.recipient
    if plan is None or recipient is None:
        return False
    hours = _hours_of(recipient, plan)
    if hours.awake(now) or may_reach(knock := _knock(message, recipient), hours, now):
        return False
    chance = next_chance(knock, hours, now)
    finish(
        message,
        state=Message.State.READY,
        attempts=message.attempts - 1,
        not_before=min(chance, message.expires_at),
    )
    waits = f"{message.get_purpose_display()} waits until {hours.local(chance):%H:%M}: the owner sleeps"
    log(plan, "kept_for_waking", waits, now=now)
    return True


def _somebody_has_it(flag: Flag | None) -> str:
    if flag is None:
        return ""
    if flag.state != Flag.State.OPEN:
        return "it is over"
    return "somebody has it" if flag.acknowledged_at is not None else ""


def _answered(message: Message) -> bool:
    asked = list(message.check_ins.all())
    answered = bool(asked) and all(each.state == CheckIn.State.ANSWERED for each in asked)
    return answered and not message.doses.exists()


def _overtaken(message: Message) -> bool:
    """Whether it asks for a dose that is not given any more: its words are wrong then."""
    return message.doses.filter(state__in=[Dose.State.CANCELLED, Dose.State.ENDED]).exists()


def _hours_of(recipient: Recipient, plan: Plan) -> OwnerHours:
    """A carer sleeps by his own hours, the owner by those that the plan was made for."""
    if recipient.part == Recipient.Part.OWNER:
        return hours_of(plan)
    person = recipient.person
    return OwnerHours(zone=ZoneInfo(person.time_zone), wakes=person.wakes, sleeps=person.sleeps)


def _knock(message: Message, recipient: Recipient) -> Knock:
    kinds = {Message.Purpose.WELCOME: Kind.FIRST, Message.Purpose.ADVICE: Kind.ADVICE}
    level = Level(message.flag.level) if message.flag is not None else Level.ON_TRACK
    sent = Message.objects.filter(purpose=message.purpose, recipient=recipient, state=Message.State.SENT)
    last = sent.filter(flag=message.flag).order_by("-sent_at").values_list("sent_at", flat=True).first()
    from_him = Reply.objects.filter(recipient=recipient).order_by("-received_at").values_list("received_at", flat=True)
    return Knock(
        kind=kinds.get(Message.Purpose(message.purpose), Kind.OTHER),
        level=level,
        may_be_woken=recipient.person.agrees("wake_me_at_night"),
        last_from_him=from_him.first(),
        last_of_flag=last if message.flag is not None else None,
    )
