"""Everything goes out through Apprise, one letter a call. This module alone imports it.

Our own SMTP sender and the tray are Apprise schemas of our own, so that a practice may put any other service in their
place. Retrying is the outbox's work, never Apprise's; a call runs in the caller's thread, so that a service that hangs
holds up only itself.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

import apprise
from apprise.decorators import notify

from followup.messaging.channel import Letter, Outcome, Sent
from followup.messaging.smtp_sender import MailServer, send_mail

TRAY = "clinictray://here"
MAIL = "clinicmail://here"
LOOP = "clinicloop://here"


@dataclass
class _Posting:
    """The letter on its way through Apprise, which itself carries a title and a body only."""

    letter: Letter
    server: MailServer | None = None
    sent: Sent | None = None


_posting: ContextVar[_Posting | None] = ContextVar("posting", default=None)


@notify(on="clinictray", name="Tray")  # type: ignore[no-untyped-call, untyped-decorator, unused-ignore]  # Apprise ships no types
def _into_the_tray(_body: str, _title: str, _kind: Any, *_args: Any, **_more: Any) -> bool:
    """The row in the outbox is the tray: staff read it there."""
    posting = _posting.get()
    if posting is not None:
        posting.sent = Sent(Outcome.OK, "in the tray")
    return posting is not None


@notify(on="clinicmail", name="Mail")  # type: ignore[no-untyped-call, untyped-decorator, unused-ignore]  # Apprise ships no types
def _by_mail(_body: str, _title: str, _kind: Any, *_args: Any, **_more: Any) -> bool:
    posting = _posting.get()
    if posting is None or posting.server is None:
        return False
    posting.sent = send_mail(posting.server, posting.letter)
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
        return _through(MAIL, _Posting(letter, self.server))


class ServiceChannel:
    """Any other Apprise service, by an address that an administrator set up. `{to}` in it becomes the number."""

    name = "service"

    def __init__(self, url: str) -> None:
        """Keep the address; it is secret and never logged."""
        self.url = url

    def send(self, letter: Letter) -> Sent:
        """Apprise cannot tell "never" from "not now": a failure is taken as not now."""
        return _through(self.url.replace("{to}", letter.to.lstrip("+")), _Posting(letter))


def can_be_used(url: str) -> bool:
    """Whether Apprise understands this address; nothing is sent."""
    return apprise.Apprise.instantiate(url.replace("{to}", "447700900123"), suppress_exceptions=True) is not None


def _through(url: str, posting: _Posting) -> Sent:
    asset = apprise.AppriseAsset(service_timeout=0, default_service_retry=0, http_redirects=False, async_mode=False)
    service = apprise.Apprise(asset=asset)
    if not service.add(url):
        return Sent(Outcome.CONFIG, "the address of the service cannot be used", whole_channel=True)
    token = _posting.set(posting)
    try:
        went = bool(service.notify(body=posting.letter.body, title=posting.letter.subject))
    finally:
        _posting.reset(token)
    return posting.sent or Sent(Outcome.OK if went else Outcome.TRANSIENT, "" if went else "the service said no")
