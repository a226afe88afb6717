"""One letter to oneself, now, in this thread: whether messages leave, in words.

Nothing is sent inside a transaction. What came of it is an event, so that the page can be loaded again and sends
nothing a second time.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from urllib.parse import urlsplit

from clinic.models import Practice, Staff
from followup.domain.terms import FollowUpError
from followup.messaging.catalogue import host_in
from followup.messaging.channel import Channel, Letter, Outcome, Sent
from followup.models import Event, Message
from followup.services.channels import Way, channel_of, send_by, way_of
from followup.services.log import log
from followup.services.outbox import new_message_id
from followup.services.routes import works
from followup.services.set_up_channel import MAY
from followup.services.who_may import only

TRIED = "channel_tried"
LOOK = {
    Message.Medium.EMAIL: ("The mail server took it", "look in your inbox"),
    Message.Medium.SMS: ("The service took it", "look at your mobile"),
    Message.Medium.CHAT: ("The service took it", "look into the room"),
}


def try_channel(
    practice: Practice,
    medium: Message.Medium,
    *,
    staff: Staff,
    now: dt.datetime,
    open_channel: Callable[[Way], Channel] = channel_of,
) -> Event:
    """Send a test to `staff`, or into the room, by what is set up; the event says what happened.

    Raises FollowUpError when `staff` has no such address. Takes up to 40 seconds.
    """
    only(staff, practice.pk, *MAY, step="Sending a test")
    letter = _letter(practice, medium, staff)
    way = way_of(practice.pk, medium)
    sent = send_by(open_channel(way), letter)
    return _kept(practice, way, sent, staff=staff, now=now)


def last_tries(practice: Practice) -> Mapping[str, Event]:
    """The newest test of each medium."""
    tries = Event.objects.filter(practice=practice, plan=None, what=TRIED).select_related("staff").order_by("at", "pk")
    return {str(each.data.get("medium")): each for each in tries}


def said_of(sent: Sent, way: Way) -> str:
    """What happened, in words for whoever sent the test."""
    took, look = LOOK[Message.Medium(way.medium)]
    where = _where(way)
    if not way.url and sent.outcome is Outcome.OK:
        return "Nothing is set up: the test stayed here, as every such message does. It is in nobody's inbox."
    said = {
        Outcome.OK: f"{took}: {look}.",
        Outcome.UNKNOWN: f"It may have gone out, or not: {sent.text}. First {look}, then try again.",
        Outcome.CONFIG: f"It cannot go out: {sent.text}.",
        Outcome.TRANSIENT: f"It did not go out: {sent.text}{where if sent.whole_channel else ''}. Try again later.",
        Outcome.PERMANENT: f"It was refused for good: {sent.text}.",
    }
    return said[sent.outcome]


def _letter(practice: Practice, medium: Message.Medium, staff: Staff) -> Letter:
    to = {Message.Medium.EMAIL: str(staff.email), Message.Medium.SMS: str(staff.mobile or "")}.get(medium, "")
    if not to and medium != Message.Medium.CHAT:
        raise FollowUpError(
            f"There is no {'mobile' if medium == Message.Medium.SMS else 'e-mail address'} of yours here."
        )
    return Letter(
        to=to,
        subject=f"{practice.name}: a test",
        body=f"A test by {staff}: this is how messages of {practice.name} leave. Nothing is to be done.",
        message_id=new_message_id(),
        reply_to=practice.email,
    )


def _kept(practice: Practice, way: Way, sent: Sent, *, staff: Staff, now: dt.datetime) -> Event:
    if sent.outcome is Outcome.OK and way.url:  # whatever had shut this way is over
        works(way.name, now=now)
    words = said_of(sent, way)
    return log(practice, TRIED, words, now=now, staff=staff, medium=way.medium, outcome=str(sent.outcome))


def _where(way: Way) -> str:
    """Which machine, when a practice named it itself; it is on the form as well."""
    host = host_in(way.url, way.medium)
    port = urlsplit(way.url).port if host else None
    return f" (at {host}{f':{port}' if port else ''})" if host else ""
