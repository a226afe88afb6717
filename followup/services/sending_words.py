"""How sending stands, in words: for a watcher outside in UTC, for people on the practice's clock."""

from __future__ import annotations

import datetime as dt

from django.utils.formats import date_format

from followup.models import Message
from followup.services.sending_state import Hindrance, Trouble

WAYS = {
    Message.Medium.EMAIL: "e-mail",
    Message.Medium.SMS: "text message",
    Message.Medium.CHAT: "the chat of the staff",
}
"""How a way out is named after "by"."""


def clock_words(moment: dt.datetime, zone: dt.tzinfo, *, now: dt.datetime) -> str:
    """ "18:27" on the same day, else "9 March 18:27"; in UTC always whole: "2025-03-09 18:27 UTC"."""
    local = moment.astimezone(zone)
    if zone is dt.UTC:
        return f"{local:%Y-%m-%d %H:%M} UTC"
    same_day = local.date() == now.astimezone(zone).date()
    return f"{local:%H:%M}" if same_day else f"{date_format(local, 'j F')} {local:%H:%M}"


def way_words(medium: str) -> str:
    """ "e-mail"; a medium that nobody named is named as it is stored."""
    return next((words for each, words in WAYS.items() if each == medium), medium)


def reason(hindrance: Hindrance, zone: dt.tzinfo, *, now: dt.datetime) -> str:
    """One sentence that says what does not work, and since when."""
    since = clock_words(hindrance.since, zone, now=now) if hindrance.since is not None else ""
    if hindrance.trouble is Trouble.NO_TICK:
        return (
            f"The program has not looked at what is due since {since}." if since else "The program has not looked yet."
        )
    if hindrance.trouble is Trouble.WAITING:
        return f"A message that was due at {since} has not gone out."
    if hindrance.trouble is Trouble.NO_CANARY:
        return f"The hourly message to itself has not come back since {since}."
    why = f": {hindrance.why}" if hindrance.why else ""
    return f"Nothing gets through by {way_words(hindrance.medium)} since {since}{why}."
