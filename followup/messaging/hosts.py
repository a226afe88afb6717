"""Machines that a practice's settings may not lead to: this one, and its neighbours behind the same wall.

Source: OWASP ASVS 5.0, 1.3.6. Names are resolved before each send; who changes the answer between our look and the
connection can still get past, so the firewall of a shared server should say the same.
"""

from __future__ import annotations

import ipaddress
import socket
from dataclasses import dataclass

from followup.messaging.channel import Channel, Letter, Outcome, Sent

OF_THIS_NETWORK = (".localhost", ".local", ".internal", ".lan", ".intranet", ".home.arpa")
LOCAL = "the server is on this machine or in its network; CHANNELS_MAY_BE_LOCAL=yes allows that"


def is_local(host: str) -> bool:
    """Whether the name itself, or the number, is of this machine or network. Nothing is asked of anybody."""
    name = host.strip("[]").rstrip(".").lower()
    number = _number(name)
    if number is not None:
        return not _public(number)
    return "." not in name or name.endswith(OF_THIS_NETWORK)


def leads_home(host: str) -> bool:
    """The same, of every address that the name stands for now. A name that nobody knows leads nowhere."""
    if is_local(host):
        return True
    try:
        found = socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return False
    return not all(_public(ipaddress.ip_address(str(each[4][0]).partition("%")[0])) for each in found)


@dataclass(frozen=True)
class Outward:
    """A channel that first looks whether its server is outside."""

    channel: Channel
    host: str

    @property
    def name(self) -> str:
        """As the channel's own."""
        return self.channel.name

    def send(self, letter: Letter) -> Sent:
        """Nothing is sent to a server of this network."""
        if leads_home(self.host):
            return Sent(Outcome.CONFIG, LOCAL, whole_channel=True)
        return self.channel.send(letter)


def _number(name: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    """The name read as an address, in any of the ways in which a C library reads one: 127.1, 0x7f000001."""
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        pass
    try:
        return ipaddress.IPv4Address(socket.inet_aton(name))
    except (OSError, UnicodeError):
        return None


def _public(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    inner = address.ipv4_mapped if isinstance(address, ipaddress.IPv6Address) else None
    return (inner or address).is_global and not (inner or address).is_multicast
