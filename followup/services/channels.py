"""Which channel a practice's message goes through: its own, else the installation's, else the tray."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable

from cryptography.fernet import Fernet
from django.conf import settings

from followup.messaging import channel as channels
from followup.messaging.apprise_channel import LoopChannel, MailChannel, ServiceChannel, TrayChannel
from followup.messaging.smtp_sender import MailServer
from followup.models import Channel, Message

Choose = Callable[[Message], channels.Channel]
"""Gives the channel for one message; tests pass their own."""


def configured(message: Message) -> channels.Channel:
    """The channel as it is set up now."""
    if message.audience == Message.Audience.LOOP and not settings.CANARY_ADDRESS:
        return LoopChannel()
    chosen = _by_url(_url(message), message.medium)
    return _of_a_canary(chosen) if message.audience == Message.Audience.LOOP else chosen


def encrypt(url: str) -> str:
    """A channel's address as it is kept in the database."""
    return _box().encrypt(url.encode()).decode()


def _url(message: Message) -> str:
    own = Channel.objects.filter(practice_id=message.practice_id, medium=message.medium, enabled=True).first()
    if own is not None:
        return _box().decrypt(own.secret_url.encode()).decode()
    by_medium = {Message.Medium.EMAIL: settings.EMAIL_URL, Message.Medium.SMS: settings.SMS_URL}
    return str(by_medium[Message.Medium(message.medium)])


def _by_url(url: str, medium: str) -> channels.Channel:
    if not url:
        return TrayChannel()
    if medium == Message.Medium.EMAIL and url.startswith(("smtp://", "smtps://")):
        return MailChannel(MailServer.from_url(url))
    return ServiceChannel(url)


def _of_a_canary(chosen: channels.Channel) -> channels.Channel:
    """The practice's real e-mail; where that lands in the tray, and would come back from nowhere, the loop."""
    return LoopChannel() if isinstance(chosen, TrayChannel) else ByItself(chosen)


class ByItself:
    """A practice's own channel as its canary takes it: that this one is down says nothing of the way of the others."""

    def __init__(self, channel: channels.Channel) -> None:
        """Keep the channel, and the name under which what went through it is stored."""
        self.channel, self.name = channel, channel.name

    def send(self, letter: channels.Letter) -> channels.Sent:
        """What the channel says, said of this letter alone."""
        sent = self.channel.send(letter)
        outcome = channels.Outcome.TRANSIENT if sent.outcome is channels.Outcome.CONFIG else sent.outcome
        return channels.Sent(outcome, sent.text)


def _box() -> Fernet:
    """A box whose key is made from the installation's secret and is not in the database."""
    digest = hashlib.sha256(b"channel-settings:" + settings.SECRET_KEY.encode()).digest()
    return Fernet(base64.urlsafe_b64encode(digest))
