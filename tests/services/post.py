"""Ways to send that are no way out of the building: one that remembers, and one that does something meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import Message


@dataclass
class Post:
    """A channel that remembers, and answers what it was told to; `meanwhile` happens while it sends."""

    answer: Sent = field(default_factory=lambda: Sent(Outcome.OK))
    meanwhile: Callable[[], object] = lambda: None
    letters: list[Letter] = field(default_factory=list)
    name = "post"

    def send(self, letter: Letter) -> Sent:
        self.letters.append(letter)
        self.meanwhile()
        return self.answer

    def __call__(self, _message: Message) -> Post:
        return self


DOWN = Sent(Outcome.TRANSIENT, "no connection", whole_channel=True)
REFUSED = Sent(Outcome.TRANSIENT, "451")
