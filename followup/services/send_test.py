"""One letter to whoever asks for it, through the practice's channel, to see how a text arrives.

It passes the outbox by: the person is waiting for it and sees at once what became of it. Never call it inside a
transaction.
"""

from __future__ import annotations

import datetime as dt

from clinic.models import Practice, Staff
from followup.domain.terms import FollowUpError
from followup.domain.wording import Text
from followup.messaging.channel import Letter, Outcome
from followup.models import Message
from followup.services.channels import Choose, configured, hand_in
from followup.services.log import log
from followup.services.outbox import new_message_id

SAID = {
    Outcome.OK: "Handed over: it should reach you within minutes.",
    Outcome.TRANSIENT: "It did not go out just now.",
    Outcome.PERMANENT: "It was refused.",
    Outcome.UNKNOWN: "Nobody knows whether it went out: look whether it has come.",
    Outcome.CONFIG: "The channel is not set up as it must be.",
}
TRAY = "No provider is set up for this, so nothing left the building: owners' messages stay in the tray too."


def send_test(  # noqa: PLR0913 - one letter has this many facts, all by name
    practice: Practice,
    text: Text,
    *,
    medium: Message.Medium,
    staff: Staff,
    now: dt.datetime,
    choose: Choose = configured,
) -> str:
    """Send a text that is filled in whole to `staff`, and say what became of it.

    The channel is chosen as for any message of the practice. Raises FollowUpError without an address.
    """
    letter = _letter(practice, text, medium, staff)
    name, sent = hand_in(letter, Message(practice=practice, medium=medium), choose)
    log(practice, "text_tried", f"{sent.outcome} {sent.text}".strip(), now=now, staff=staff, key=text.key)
    if name == "tray":
        return TRAY
    return f"{SAID[sent.outcome]} ({sent.text})" if sent.text else SAID[sent.outcome]


def _letter(practice: Practice, text: Text, medium: Message.Medium, staff: Staff) -> Letter:
    by_text = medium == Message.Medium.SMS
    address = str(staff.mobile) if by_text else staff.email
    if not address:
        raise FollowUpError("Nothing was sent: no mobile number of yours is on record here.")
    return Letter(
        to=address,
        subject="" if by_text else f"Test: {text.subject}",
        body=text.short if by_text else text.body,
        message_id=new_message_id(),
        reply_to=practice.email,
    )
