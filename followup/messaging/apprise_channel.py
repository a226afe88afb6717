"""Everything goes out through Apprise, one letter a call. Only this module and `apprise_answer` import it.

Our own ways (tray, mail, gateway) are Apprise schemas of our own, so that a practice may put any other service in their
place. Retrying is the outbox's work, never Apprise's. No line that Apprise writes reaches a log: it names numbers.
"""

from __future__ import annotations

import contextvars
import logging
import re
import threading
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import apprise
from apprise.decorators import notify

from followup.messaging.apprise_answer import NO_WORD, weigh
from followup.messaging.channel import Letter, Outcome, Sent
from followup.messaging.gateway import Gateway, send_to_gateway
from followup.messaging.service import TO
from followup.messaging.smtp_sender import MailServer, send_mail

TRAY = "clinictray://here"
LOOP = "clinicloop://here"
OURS = "clinicway://here"
NUMBER = re.compile(r"\+?[0-9]{3,15}")
"""At most 15 digits: E.164."""
NOT_A_NUMBER = Sent(Outcome.PERMANENT, "the number cannot be read as a telephone number")
CONNECT, READ = 5.0, 10.0
"""Seconds that Apprise's own services may take for a connection, and for one answer."""
IN_ALL = 35.0
"""Seconds after which a service is left to itself: it may drip, or ask several things one after the other."""
EXAMPLE = "447700900123"


logging.getLogger("apprise").addFilter(lambda _line: False)  # whatever the level: its lines name numbers


@dataclass
class _Posting:
    """The letter on its way through Apprise, which itself carries a title and a body only."""

    letter: Letter
    hand_in: Callable[[Letter], Sent] | None = None
    sent: Sent | None = None


_posting: ContextVar[_Posting | None] = ContextVar("posting", default=None)


@notify(on="clinictray", name="Tray")  # type: ignore[no-untyped-call, untyped-decorator, unused-ignore]  # Apprise ships no types
def _into_the_tray(_body: str, _title: str, _kind: Any, *_args: Any, **_more: Any) -> bool:
    """The row in the outbox is the tray: staff read it there."""
    posting = _posting.get()
    if posting is not None:
        posting.sent = Sent(Outcome.OK, "in the tray")
    return posting is not None


@notify(on="clinicway", name="Our own")  # type: ignore[no-untyped-call, untyped-decorator, unused-ignore]  # Apprise ships no types
def _our_own_way(_body: str, _title: str, _kind: Any, *_args: Any, **_more: Any) -> bool:
    posting = _posting.get()
    if posting is None or posting.hand_in is None:
        return False
    posting.sent = posting.hand_in(posting.letter)
    return posting.sent.outcome is Outcome.OK


@notify(on="clinicloop", name="Loop")  # type: ignore[no-untyped-call, untyped-decorator, unused-ignore]  # Apprise ships no types
def _around_the_loop(body: str, title: str, _kind: Any, *_args: Any, **_more: Any) -> bool:
    """What Apprise carried is compared with what was handed to it: only the same text has come back."""
    posting = _posting.get()
    if posting is None:
        return False
    same = (title, body) == (posting.letter.subject, posting.letter.body)
    posting.sent = Sent(Outcome.OK, "came back") if same else Sent(Outcome.TRANSIENT, "came back changed")
    return same


class TrayChannel:
    """Where messages land when no provider is set up."""

    name = "tray"

    def send(self, letter: Letter) -> Sent:
        """Nothing leaves the building."""
        return _through(TRAY, _Posting(letter))


class LoopChannel:
    """The program writes to itself: the whole way of a message, but for the last piece outside."""

    name = "loop"

    def send(self, letter: Letter) -> Sent:
        """Nothing leaves the building; OK only when the same letter came out at the other end."""
        return _through(LOOP, _Posting(letter))


class MailChannel:
    """E-mail by our own SMTP sender."""

    name = "smtp"

    def __init__(self, server: MailServer) -> None:
        """Keep where mail is handed in."""
        self.server = server

    def send(self, letter: Letter) -> Sent:
        """Hand the letter in and say at which phase it broke, if it did."""
        return _through(OURS, _Posting(letter, lambda each: send_mail(self.server, each)))


class GatewayChannel:
    """Text messages by a gateway of the practice's own."""

    name = "gateway"

    def __init__(self, gateway: Gateway) -> None:
        """Keep where text messages are handed in."""
        self.gateway = gateway

    def send(self, letter: Letter) -> Sent:
        """Hand it in and say at which phase it broke, if it did."""
        if not NUMBER.fullmatch(letter.to):
            return NOT_A_NUMBER
        return _through(OURS, _Posting(letter, lambda each: send_to_gateway(self.gateway, each)))


class ServiceChannel:
    """Any other Apprise service on the list, by an address that an administrator set up.

    `{to}` in it becomes the number: digits only, so that whatever an owner wrote leads to no other address. Without
    `{to}` it is a room, and the subject stands above the text.
    """

    name = "service"

    def __init__(self, url: str) -> None:
        """Keep the address; it is secret and never logged."""
        self.url = url

    def send(self, letter: Letter) -> Sent:
        """One try, at most 35 seconds."""
        is_room = TO not in self.url
        if not is_room and not NUMBER.fullmatch(letter.to):
            return NOT_A_NUMBER
        url = self.url.replace(TO, quote(letter.to.lstrip("+"), safe=""))
        return _within(IN_ALL, lambda: _through(url, _Posting(letter), titled=is_room))


class NoChannel:
    """Set up wrongly: whatever is sent this way hears why."""

    name = "none"

    def __init__(self, why: str) -> None:
        """Keep the reason, a sentence without an address or secret."""
        self.why = why

    def send(self, _letter: Letter) -> Sent:
        """Nothing is sent."""
        return Sent(Outcome.CONFIG, self.why, whole_channel=True)


def can_be_used(url: str) -> bool:
    """Whether Apprise understands this address; nothing is sent."""
    return apprise.Apprise.instantiate(url.replace(TO, EXAMPLE), suppress_exceptions=True) is not None


def _through(url: str, posting: _Posting, *, titled: bool = True) -> Sent:
    asset = apprise.AppriseAsset(service_timeout=0, default_service_retry=0, http_redirects=False, async_mode=False)
    plugin = apprise.Apprise.instantiate(url, asset=asset, suppress_exceptions=True)
    if plugin is None:
        return Sent(Outcome.CONFIG, "the address of the service cannot be used", whole_channel=True)
    _bind(plugin)
    service = apprise.Apprise(asset=asset)
    service.add(plugin)
    token = _posting.set(posting)
    letter = posting.letter
    try:
        result = service.notify(
            body=letter.body,
            title=letter.subject if titled else "",
            body_format=apprise.NotifyFormat.TEXT,
            log_level=logging.DEBUG,
        )
    finally:
        _posting.reset(token)
    return posting.sent or weigh(result)


def _bind(plugin: Any) -> None:
    """Whatever its address says: once, no further than here, not for long, and telling nobody but us."""
    plugin.socket_connect_timeout, plugin.socket_read_timeout = CONNECT, READ
    plugin.retry, plugin.redirects = 0, False
    plugin.logger = logging.Logger("apprise.unheard", logging.DEBUG)  # noqa: LOG001 - it has no parent to pass lines to
    plugin.logger.addHandler(logging.NullHandler())


def _within(seconds: float, send: Callable[[], Sent]) -> Sent:
    """What `send` says, or that nobody knows after so long; then its thread is left to end by itself."""
    said: list[Sent] = []
    context = contextvars.copy_context()

    def run() -> None:
        try:
            said.append(context.run(send))
        except Exception as fault:  # noqa: BLE001 - a provider's library may raise anything: it may have gone out
            said.append(Sent(Outcome.UNKNOWN, type(fault).__name__))

    thread = threading.Thread(target=run, name="one send", daemon=True)
    thread.start()
    thread.join(seconds)
    return said[0] if said else NO_WORD
