"""Sending what is due: claim, commit, send, record. Never inside a transaction.

A claim is a lease with a fencing token that runs out, so a killed worker loses nothing; an outcome is written only with
the token. It may run twice, or twice at once. Source of the policies: docs in DEVELOPERS.md, "Delivery".
"""

from __future__ import annotations

import datetime as dt
import logging
import random
import uuid

from django.db import transaction

from followup.domain.night_rule import Kind, Knock, may_reach
from followup.domain.terms import Level
from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import CheckIn, Heartbeat, Message, Plan, Reply, SendAttempt, Task
from followup.services.channels import Choose, configured
from followup.services.facts import hours_of
from followup.services.letters import letter_for
from followup.services.log import log

logger = logging.getLogger(__name__)

LEASE = dt.timedelta(seconds=90)
"""Above the 40 s that one send may take in all, with room."""
FIRST_WAIT = dt.timedelta(seconds=30)
LONGEST_WAIT = dt.timedelta(minutes=15)
MOST_UNKNOWN = 2
MOST_IN_ONE_GO = 500


def send_due(*, now: dt.datetime, choose: Choose = configured, audience: Message.Audience | None = None) -> int:
    """Send everything that is due, alerts to staff first; returns how many went out."""
    give_up_what_is_late(now=now)
    take_back_lost_leases(now=now)
    leave_the_older(now=now)
    sent = 0
    for _ in range(MOST_IN_ONE_GO):
        message = _claim(now=now, audience=audience)
        if message is None:
            break
        sent += _deliver(message, now=now, choose=choose)
    return sent


def give_up_what_is_late(*, now: dt.datetime) -> None:
    """What is no longer worth sending is not sent late: it becomes a task for staff."""
    for message in Message.objects.run_out(now).select_related("plan")[:MOST_IN_ONE_GO]:
        with transaction.atomic():
            if _move(message, Message.State.READY, state=Message.State.EXPIRED):
                _hand_to_a_person(message, "was not sent in time", now=now)


def take_back_lost_leases(*, now: dt.datetime) -> None:
    """A lease that ran out is an unknown outcome: one more try, then a person. An alert is never parked."""
    for message in Message.objects.lease_lost(now).select_related("plan")[:MOST_IN_ONE_GO]:
        with transaction.atomic():
            _record_unknown(message, message.lease_token, now=now)


def leave_the_older(*, now: dt.datetime) -> None:
    """Of several check-ins due to one person only the newest goes out, after an outage."""
    due = Message.objects.due(now).exclude(collapse_key="").order_by("recipient_id", "collapse_key", "-due_at", "-pk")
    newest: set[tuple[int | None, str]] = set()
    for message in due[:MOST_IN_ONE_GO]:
        key = (message.recipient_id, message.collapse_key)
        if key in newest:
            _move(message, Message.State.READY, state=Message.State.SUPERSEDED)
        newest.add(key)


def _claim(*, now: dt.datetime, audience: Message.Audience | None) -> Message | None:
    """Lease the first due message to this worker; None when nothing is due."""
    due = Message.objects.due(now)
    if audience is not None:
        due = due.filter(audience=audience)
    for pk in due.order_by("priority", "not_before", "pk").values_list("pk", flat=True)[:10]:
        token = uuid.uuid4()
        message = Message.objects.get(pk=pk)
        claimed = Message.objects.filter(pk=pk, state=Message.State.READY, attempts=message.attempts).update(
            state=Message.State.LEASED,
            attempts=message.attempts + 1,
            lease_token=token,
            lease_until=now + LEASE,
        )
        if claimed:
            return (
                Message.objects.select_related(
                    "plan__practice", "plan__patient", "recipient__person", "recipient__practice", "staff", "flag"
                )
                .filter(pk=pk)
                .get()
            )
    return None


def _deliver(message: Message, *, now: dt.datetime, choose: Choose) -> bool:
    """Send one leased message and record what became of it; True when it went out."""
    token = message.lease_token or uuid.uuid4()  # a claim always holds one; a stray one fences nothing
    reason = _no_longer_wanted(message)
    if reason:
        _finish(message, token, state=Message.State.CANCELLED, last_error=reason)
        return False
    if _must_wait(message, now=now):
        return False
    letter = letter_for(message)
    if letter is None:
        _record(message, token, Sent(Outcome.PERMANENT, "there is no address"), "none", now=now)
        return False
    attempt = SendAttempt.objects.create(message=message, number=message.attempts, lease_token=token, started_at=now)
    channel, sent = _send(message, letter, choose)
    stood = _record(message, token, sent, channel, now=now)
    SendAttempt.objects.filter(pk=attempt.pk).update(
        finished_at=now, outcome=sent.outcome if stood else SendAttempt.Outcome.STALE, text=sent.text
    )
    return stood and sent.outcome is Outcome.OK


def _send(message: Message, letter: Letter, choose: Choose) -> tuple[str, Sent]:
    try:
        channel = choose(message)
        return channel.name, channel.send(letter)
    except Exception as fault:
        # A provider's library may raise anything; what is not known to have failed is unknown.
        logger.exception("message %s: the channel broke", message.pk)
        return "none", Sent(Outcome.UNKNOWN, type(fault).__name__)


def _no_longer_wanted(message: Message) -> str:
    """Why this message is not sent after all; empty: it is."""
    plan = message.plan
    if message.audience == Message.Audience.STAFF or plan is None:
        return ""
    parting = message.purpose in {Message.Purpose.GOODBYE, Message.Purpose.NEWS}
    stopped = message.recipient is not None and message.recipient.stopped_at is not None
    reasons = {
        "paused": bool(plan.paused) or plan.practice.messages_paused,
        "the follow-up has ended": plan.state != Plan.State.RUNNING and not parting,
        "messages were stopped": stopped,
        "answered already": _answered(message),
    }
    return next((reason for reason, holds in reasons.items() if holds), "")


def _answered(message: Message) -> bool:
    asked = list(message.check_ins.all())
    answered = bool(asked) and all(each.state == CheckIn.State.ANSWERED for each in asked)
    return answered and not message.doses.exists()


def _must_wait(message: Message, *, now: dt.datetime) -> bool:
    """The night rule, asserted at the adapter and logged: what may not reach the owner now waits for his waking."""
    plan = message.plan
    if message.audience != Message.Audience.OWNER or plan is None or message.recipient is None:
        return False
    hours = hours_of(plan)
    if may_reach(_knock(message), hours, now):
        return False
    waking = hours.next_awake(now)
    Message.objects.filter(pk=message.pk, lease_token=message.lease_token).update(
        state=Message.State.READY,
        lease_token=None,
        lease_until=None,
        attempts=message.attempts - 1,
        not_before=min(waking, message.expires_at),
    )
    log(plan, "kept_for_waking", f"{message.get_purpose_display()} waits for the owner's waking", now=now)
    return True


def _knock(message: Message) -> Knock:
    kinds = {Message.Purpose.WELCOME: Kind.FIRST, Message.Purpose.ADVICE: Kind.ADVICE}
    recipient = message.recipient
    level = Level(message.flag.level) if message.flag is not None else Level.ON_TRACK
    same_flag = Message.objects.filter(
        flag=message.flag, recipient=recipient, purpose=message.purpose, state=Message.State.SENT
    )
    last = same_flag.order_by("-sent_at").values_list("sent_at", flat=True).first() if message.flag_id else None
    from_him = Reply.objects.filter(recipient=recipient).order_by("-received_at").values_list("received_at", flat=True)
    return Knock(
        kind=kinds.get(Message.Purpose(message.purpose), Kind.OTHER),
        level=level,
        may_be_woken=recipient is not None and recipient.person.agrees("wake_me_at_night"),
        last_from_him=from_him.first(),
        last_of_flag=last,
    )


@transaction.atomic
def _record(message: Message, token: uuid.UUID | None, sent: Sent, channel: str, *, now: dt.datetime) -> bool:
    """Write the outcome down; False when the lease was lost meanwhile, and then nothing changes."""
    if sent.outcome is Outcome.OK:
        Heartbeat.objects.beat("sent", now)
        return _finish(
            message,
            token,
            state=Message.State.SENT,
            sent_at=now,
            sent_through=channel,
            last_error_class="",
            last_error="",
        )
    if sent.outcome is Outcome.UNKNOWN:
        return _record_unknown(message, token, now=now, why=sent.text)
    if sent.outcome is Outcome.PERMANENT or message.attempts >= message.max_attempts:
        failed = _finish(
            message, token, state=Message.State.FAILED, last_error_class=sent.outcome, last_error=sent.text
        )
        if failed:
            _hand_to_a_person(message, f"could not be sent: {sent.text}", now=now)
        return failed
    return _finish(
        message,
        token,
        state=Message.State.READY,
        not_before=min(now + _wait(message.attempts), message.expires_at),
        last_error_class=sent.outcome,
        last_error=sent.text,
    )


def _record_unknown(message: Message, token: uuid.UUID | None, *, now: dt.datetime, why: str = "no word") -> bool:
    unknown = message.unknown_outcomes + 1
    alert = message.audience == Message.Audience.STAFF
    park = unknown >= MOST_UNKNOWN
    state = Message.State.READY
    if park:
        state = Message.State.FAILED if alert else Message.State.PARKED
    done = _finish(
        message,
        token,
        state=state,
        unknown_outcomes=unknown,
        not_before=min(now + FIRST_WAIT, message.expires_at),
        last_error_class=Outcome.UNKNOWN,
        last_error=why,
    )
    if done and park and not alert:
        _hand_to_a_person(message, "may or may not have arrived", now=now)
    return done


def _finish(message: Message, token: uuid.UUID | None, **changes: object) -> bool:
    """End this worker's lease. The token fences: a worker whose lease ran out changes nothing."""
    held = Message.objects.filter(pk=message.pk, state=Message.State.LEASED, lease_token=token)
    return held.update(lease_token=None, lease_until=None, **changes) == 1


def _move(message: Message, old: Message.State, **changes: object) -> bool:
    return Message.objects.filter(pk=message.pk, state=old).update(**changes) == 1


def _wait(attempts: int) -> dt.timedelta:
    """30 s, doubled with each try, half as much more or less, at most a quarter of an hour."""
    jitter = random.uniform(0.5, 1.5)  # noqa: S311 - spreads retries, guards nothing
    doubled: dt.timedelta = FIRST_WAIT * 2 ** (attempts - 1)
    return min(doubled, LONGEST_WAIT) * jitter


def _hand_to_a_person(message: Message, why: str, *, now: dt.datetime) -> None:
    """An owner's message that will not go out is a call on the list; an alert goes to the next person by itself."""
    CheckIn.objects.filter(messages=message, state=CheckIn.State.ASKED).update(could_not_be_asked=True)
    if message.audience == Message.Audience.STAFF or message.plan is None:
        return
    who = str(message.recipient.person) if message.recipient is not None else "the owner"
    Task.objects.get_or_create(
        practice_id=message.practice_id,
        key=f"undelivered:{message.pk}",
        defaults={
            "plan": message.plan,
            "kind": Task.Kind.PHONE,
            "text": f"Phone {who}: the message “{message.subject}” {why}",
            "due_at": now,
            "made_at": now,
        },
    )
