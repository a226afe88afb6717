"""Which channel a practice's message goes through: its own, else the installation's, else the tray.

One that is set up wrongly is a channel too: what is sent through it hears why, and waits until it is mended.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from django.conf import settings

from followup.messaging import channel as channels
from followup.messaging.apprise_channel import (
    GatewayChannel,
    LoopChannel,
    MailChannel,
    NoChannel,
    ServiceChannel,
    TrayChannel,
)
from followup.messaging.catalogue import GATEWAY, MAIL, host_in, refusal, service_of
from followup.messaging.gateway import Gateway
from followup.messaging.hosts import Outward
from followup.messaging.smtp_sender import MailServer
from followup.models import Channel, Message
from followup.services.channel_secrets import CannotBeRead, decrypt

logger = logging.getLogger(__name__)

Choose = Callable[[Message], channels.Channel]
"""Gives the channel for one message; tests pass their own."""


@dataclass(frozen=True)
class Way:
    """By which address one practice's messages of one medium go. `url` empty: the tray. `fault`: it cannot be read."""

    name: str
    """As `Route.name`."""
    medium: str
    url: str = field(repr=False)  # it is a secret
    own: bool
    """Set up by the practice, and not by the installation's settings."""
    fault: str = ""


def configured(message: Message) -> channels.Channel:
    """The channel as it is set up now. A room of the staff is for staff: no owner's message goes there."""
    if message.audience == Message.Audience.LOOP:
        return _of_a_canary(message)
    if message.medium == Message.Medium.CHAT and message.audience == Message.Audience.OWNER:
        return NoChannel("a room of the staff takes no owner's message")
    return channel_of(way_of(message.practice_id, message.medium))


def hand_in(letter: channels.Letter, like: Message, choose: Choose) -> tuple[str, channels.Sent]:
    """Send a letter by the channel of messages `like` this one: that channel's name, and what came of it.

    Never inside a transaction. A fault's own words may hold an address, so only its kind is told.
    """
    try:
        channel = choose(like)
    except Exception as fault:  # noqa: BLE001 - kept in any wrong way: nothing was sent, and nothing will be
        logger.warning("a channel cannot be used: %s", type(fault).__name__)
        return "none", channels.Sent(channels.Outcome.CONFIG, "the channel is set up wrongly", whole_channel=True)
    return channel.name, send_by(channel, letter)


def send_by(channel: channels.Channel, letter: channels.Letter) -> channels.Sent:
    """What the channel says; what it raises is not known to have failed."""
    try:
        return channel.send(letter)
    except Exception as fault:  # noqa: BLE001 - a provider's library may raise anything: it may have gone out
        logger.warning("a channel broke: %s", type(fault).__name__)
        return channels.Sent(channels.Outcome.UNKNOWN, type(fault).__name__)


def way_of(practice_id: int, medium: str) -> Way:
    """How this practice sends that medium now."""
    own = Channel.objects.filter(practice_id=practice_id, medium=medium, enabled=True).first()
    if own is None:
        return Way(f"installation:{medium}", medium, _of_the_installation(medium), own=False)
    name = f"practice:{practice_id}:{medium}"
    try:
        return Way(name, medium, decrypt(own.secret_url), own=True)
    except CannotBeRead as fault:
        return Way(name, medium, "", own=True, fault=str(fault))


def channel_of(way: Way) -> channels.Channel:
    """What sends by it. The machine's own settings may lead to its own network, a practice's only if it is allowed."""
    if not way.url and not way.fault:
        return TrayChannel()
    fault = way.fault or refusal(way.url, way.medium)
    if fault:
        return NoChannel(fault)
    channel = _channel(way)
    host = host_in(way.url, way.medium)
    guarded = way.own and host and not settings.CHANNELS_MAY_BE_LOCAL
    return Outward(channel, host) if guarded else channel


def _of_a_canary(canary: Message) -> channels.Channel:
    """The practice's real e-mail to a box of ours; where there is none, or it would land in the tray, the loop."""
    if not settings.CANARY_ADDRESS:
        return LoopChannel()
    chosen = channel_of(way_of(canary.practice_id, canary.medium))
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


def _channel(way: Way) -> channels.Channel:
    service = service_of(way.url, way.medium)
    try:
        if service is MAIL:
            return MailChannel(replace(MailServer.from_url(way.url), pace=settings.TRIAL_PACE))
        if service is GATEWAY:
            return GatewayChannel(replace(Gateway.from_url(way.url), pace=settings.TRIAL_PACE))
    except ValueError:  # what it says may hold a part of the address
        return NoChannel("its address cannot be read: fill it in anew")
    return ServiceChannel(way.url)


def _of_the_installation(medium: str) -> str:
    by_medium = {Message.Medium.EMAIL: settings.EMAIL_URL, Message.Medium.SMS: settings.SMS_URL}
    return str(by_medium.get(Message.Medium(medium), ""))
