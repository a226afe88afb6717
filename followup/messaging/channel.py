"""What a channel is: it takes one letter and says what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from followup.domain.delivery import Outcome

__all__ = ["Channel", "Letter", "Outcome", "Sent"]


@dataclass(frozen=True)
class Letter:
    """One message to one address, filled in. `message_id` stays the same when it is sent again.

    `to` is empty for a room of the staff. `thread` is the Message-ID of the first of the letters that belong together;
    empty: this is the first.
    """

    to: str
    subject: str
    body: str
    message_id: str
    reply_to: str = ""
    leave_link: str = ""
    """Where the reader can stop messages; becomes List-Unsubscribe."""
    thread: str = ""


@dataclass(frozen=True)
class Sent:
    """What became of a letter; `text` never holds an address.

    `whole_channel`: nothing at all gets through this way at present, so it is not this letter's fault. `wait`: for how
    many seconds we were asked to leave it; 0: nobody said.
    """

    outcome: Outcome
    text: str = ""
    whole_channel: bool = False
    wait: float = 0.0


class Channel(Protocol):
    """A way to reach people."""

    @property
    def name(self) -> str:
        """What is stored with each message that went through it."""
        ...

    def send(self, letter: Letter) -> Sent:
        """Send one letter now, in this thread, within 40 seconds."""
        ...
