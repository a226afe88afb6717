"""A person asks for no messages, or for messages again. Calls take their place; replies on his page still count.

Each person stops for himself: a carer goes on when the owner has stopped. Source: RFC 8058
(one click); an open red flag becomes a call (common practice, no source).
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Consent, Practice, Staff
from followup.domain.terms import Level
from followup.models import Flag, Message, Plan, Recipient
from followup.services.call_instead import Unsent, call_about, call_instead
from followup.services.last_look import STOPPED
from followup.services.log import log
from followup.services.owner_page import plans_of
from followup.services.unasked import were_not_asked


@transaction.atomic
def stop(recipient: Recipient, *, how: Recipient.How, now: dt.datetime, staff: Staff | None = None) -> bool:
    """No message to this person from now on; False when it was so already. What waits for him becomes calls."""
    going = Recipient.objects.filter(pk=recipient.pk, stopped_at=None)
    if not going.update(stopped_at=now, stopped_how=how):
        return False
    recipient.refresh_from_db()
    _consent(recipient, given=False, staff=staff, now=now)
    words = f"asked for no messages, {how.label}"
    plans = _write_down(recipient, "messages_stopped", words, staff=staff, now=now)
    _recall(recipient, now=now)
    red = Flag.objects.open().filter(plan__in=plans, worst__gte=Level.URGENT)
    for flag in red.select_related("plan__patient").order_by("-worst", "pk"):
        call_about(flag, recipient, now=now)
    return True


@transaction.atomic
def start_again(recipient: Recipient, *, how: Recipient.How, now: dt.datetime, staff: Staff | None = None) -> bool:
    """Messages again, from the next one on; False when none were stopped."""
    stopped = Recipient.objects.filter(pk=recipient.pk, stopped_at__isnull=False)
    if not stopped.update(stopped_at=None, stopped_how=""):
        return False
    recipient.refresh_from_db()
    _consent(recipient, given=True, staff=staff, now=now)
    words = f"asked for messages again, {how.label}"
    _write_down(recipient, "messages_start_again", words, staff=staff, now=now)
    return True


def _recall(recipient: Recipient, *, now: dt.datetime) -> None:
    """Whatever waits for him, or is with a worker that has not begun to hand it in."""
    waiting = Message.objects.to_owners().filter(recipient=recipient).not_gone()
    for message in waiting.select_related("plan__practice", "flag__plan__patient").order_by("pk"):
        called_off = (
            Message.objects.filter(pk=message.pk)
            .not_gone()
            .update(state=Message.State.CANCELLED, lease_token=None, lease_until=None, last_error=STOPPED)
        )
        if called_off and message.plan is not None:
            call_instead(message.plan, recipient, Unsent.of(message), now=now)
            were_not_asked([message.pk])


def _consent(recipient: Recipient, *, given: bool, staff: Staff | None, now: dt.datetime) -> None:
    Consent.objects.create(
        practice_id=recipient.practice_id,
        owner=recipient.person,
        kind=Consent.Kind.TO_BE_CONTACTED,
        given=given,
        at=now,
        recorded_by=staff,
    )


def _write_down(recipient: Recipient, what: str, words: str, *, staff: Staff | None, now: dt.datetime) -> list[Plan]:
    """In the history of each of his running follow-ups, else of the practice; returns those follow-ups."""
    plans = list(plans_of(recipient).running())
    about: list[Plan | Practice] = [*plans] or [recipient.practice]
    for each in about:
        log(each, what, f"{recipient.person} {words}", now=now, staff=staff, recipient=recipient.pk)
    return plans
