"""The last look before a message goes out: is it still wanted, and may it reach its reader at this hour?"""

from __future__ import annotations

import datetime as dt
import logging
from zoneinfo import ZoneInfo

from django.db.models import Q

from followup.domain.hours import OwnerHours
from followup.domain.night_rule import Kind, Knock, may_reach, next_chance
from followup.domain.terms import Level
from followup.models import CheckIn, Count, Dose, Flag, Message, Plan, Recipient, Reply
from followup.services.facts import hours_of
from followup.services.log import log
from followup.services.sending_outcome import put_back

logger = logging.getLogger(__name__)

STOPPED = "messages were stopped"
A_MINUTE = dt.timedelta(minutes=1)
ASKING = (Message.Purpose.CHECK_IN, Message.Purpose.DOSE, Message.Purpose.REMINDER)


def no_longer_wanted(message: Message) -> str:
    """Why this message is not sent after all; empty: it is."""
    if message.audience == Message.Audience.STAFF:
        return _somebody_has_it(message.flag)
    plan = message.plan
    if plan is None:
        return ""
    parting = message.purpose in {Message.Purpose.GOODBYE, Message.Purpose.NEWS}
    plans = _plans_of(message, plan)
    stopped = message.recipient is not None and message.recipient.stopped_at is not None
    reasons = {
        "paused": any(each.paused for each in plans),
        "the follow-up has ended": not parting and any(each.state != Plan.State.RUNNING for each in plans),
        STOPPED: stopped,
        "answered already": _answered(message),
        "the plan was changed": _overtaken(message),
    }
    return next((reason for reason, holds in reasons.items() if holds), "")


def must_wait(message: Message, *, now: dt.datetime) -> bool:
    """What may not reach the owner now, because he sleeps or messages are paused, waits until it may."""
    plan, recipient = message.plan, message.recipient
    if plan is None or recipient is None:
        return False
    if plan.practice.messages_paused:
        put_back(message, until=now + A_MINUTE)
        return True
    chance = _kept_until(message, plan, recipient, now=now)
    if chance is None:
        return False
    put_back(message, until=chance)
    hours = _hours_of(recipient, plan)
    waits = f"{message.get_purpose_display()} waits until {hours.local(chance):%H:%M}: the owner sleeps"
    log(plan, "kept_for_waking", waits, now=now)
    return True


def would_wake(message: Message, *, now: dt.datetime) -> bool:
    """The night rule once more, at the channel's door. If it holds here, that is a fault, and it is counted."""
    plan, recipient = message.plan, message.recipient
    if plan is None or recipient is None or (chance := _kept_until(message, plan, recipient, now=now)) is None:
        return False
    Count.objects.one_more("night_sends", now)
    logger.error("message %s was about to reach a sleeping owner: it was kept back", message.pk)
    put_back(message, until=chance)
    return True


def _kept_until(message: Message, plan: Plan, recipient: Recipient, *, now: dt.datetime) -> dt.datetime | None:
    """When the night rule lets it go; None: now. Source: clinical defaults, 13 (D)."""
    hours = _hours_of(recipient, plan)
    if hours.awake(now) or may_reach(knock := _knock(message, recipient), hours, now):
        return None
    return next_chance(knock, hours, now)


def _somebody_has_it(flag: Flag | None) -> str:
    if flag is None:
        return ""
    if flag.state != Flag.State.OPEN:
        return "it is over"
    return "somebody has it" if flag.acknowledged_at is not None else ""


def _plans_of(message: Message, plan: Plan) -> list[Plan]:
    """Every plan that it speaks of: one owner's patients are asked about together."""
    if message.purpose not in ASKING:
        return [plan]
    asked = Q(check_ins__messages=message) | Q(doses__messages=message)
    return [plan, *Plan.objects.filter(asked).exclude(pk=plan.pk).distinct()]


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
