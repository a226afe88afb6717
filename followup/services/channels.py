"""Which channel a practice's message goes through: its own, else the installation's, else the tray."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from dataclasses import replace

from cryptography.fernet import Fernet
from django.conf import settings

from followup.messaging import channel as channels
from followup.messaging.apprise_channel import MailChannel, ServiceChannel, TrayChannel
from followup.messaging.smtp_sender import MailServer
from followup.models import Channel, Message

Choose = Callable[[Message], channels.Channel]
"""Gives the channel for one message; tests pass their own."""


def configured(message: Message) -> channels.Channel:
    """The channel as it is set up now."""
    return _by_url(_url(message), message.medium)


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
        return MailChannel(replace(MailServer.from_url(url), pace=settings.TRIAL_PACE))
    return ServiceChannel(url)


def _box() -> Fernet:
    """A box whose key is made from the installation's secret and is not in the database."""
    digest = hashlib.sha256(b"channel-settings:" + settings.SECRET_KEY.encode()).digest()
    return Fernet(base64.urlsafe_b64encode(digest))
