"""Telling a plan's owner something at once."""

from __future__ import annotations

import datetime as dt

from followup.domain.wording import ADVICE
from followup.models import Flag, Message, Plan
from followup.services.advice import Advice
from followup.services.call_instead import call_about
from followup.services.outbox import ADVICE_PRIORITY, queue_to_owner
from followup.services.people import first_recipients
from followup.services.texts import fill, read_aloud, words_of

ADVICE_LASTS = dt.timedelta(hours=12)
"""After half a day advice is no longer news; by then a person has the case."""


def phone_who_stopped(plan: Plan, flag: Flag, *, now: dt.datetime) -> None:
    """A red sign that a page has shown already is a call all the same, to those who get no messages."""
    for recipient in first_recipients(plan, now=now):
        if recipient.stopped_at is not None:
            call_about(flag, recipient, now=now)


def tell_owner(plan: Plan, advice: Advice, *, flag: Flag, key: str, now: dt.datetime) -> None:
    """Queue the advice to everybody who looks after the patient first."""
    for recipient in first_recipients(plan, now=now):
        text = fill(ADVICE, of=plan.practice, language=recipient.person.language, **advice_words(plan, advice))
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.ADVICE,
            key=f"{key}:{recipient.pk}",
            text=text,
            now=now,
            expires_at=now + ADVICE_LASTS,
            priority=ADVICE_PRIORITY,
            flag=flag,
        )


def advice_words(plan: Plan, advice: Advice) -> dict[str, str]:
    """What a text that holds advice may say."""
    return {
        **words_of([plan]),
        "heading": advice.heading,
        "phone": read_aloud(advice.phone),
        "phone_name": advice.phone_name,
        "action": advice.action,
        "what_happened": " ".join(filter(None, [advice.what_happened, advice.tonight])),
        "disclaimer": advice.disclaimer,
    }
