"""Text messages by a gateway of the practice's own: JSON by HTTP, phase by phase, so that "not sent" is told from
"nobody knows". What it answers is read, for some answer 200 with an error inside.
"""

from __future__ import annotations

import http.client
import json
import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from urllib.parse import parse_qs, unquote, urlsplit

from followup.messaging.answers import by_status, inside, no_connection
from followup.messaging.channel import Letter, Outcome, Sent

CONNECT, READ = 5.0, 10.0
"""Seconds for the connection, and for one answer."""
IN_ALL = 25.0
"""Seconds for everything after the connection: one that drips is hung up on, below the 40 s that a send may take."""
MOST_OF_AN_ANSWER = 64 * 1024
"""Bytes that are read of an answer."""
WHO = "the gateway"
NO_WORD = Sent(Outcome.UNKNOWN, "no word from the gateway in time")
FORM = "It must be clinicgateway://token@host/path, or clinicgateways."


@dataclass(frozen=True)
class Gateway:
    """Where text messages are handed in. `sender` may be empty: the gateway's own.

    `pace`: by what every patience is divided; 1 but in a trial of faults.
    """

    host: str
    port: int
    path: str
    token: str
    sender: str
    secure: bool
    pace: int = 1

    @classmethod
    def from_url(cls, url: str) -> Gateway:
        """From clinicgateway(s)://token@host:port/path?from=sender. Raises ValueError in words."""
        try:
            parts = urlsplit(url)
            secure, port = parts.scheme == "clinicgateways", parts.port
        except ValueError:  # a port that is none; its text may be a secret
            raise ValueError(FORM) from None
        if parts.scheme not in {"clinicgateway", "clinicgateways"} or not parts.hostname:
            raise ValueError(FORM)
        return cls(
            host=parts.hostname,
            port=port or (443 if secure else 80),
            path=parts.path or "/",
            token=unquote(parts.username or ""),
            sender=parse_qs(parts.query).get("from", [""])[0],
            secure=secure,
        )


def send_to_gateway(gateway: Gateway, letter: Letter) -> Sent:
    """Hand one text message in, and say what became of it."""
    try:
        connection = _connected(gateway)
    except (OSError, UnicodeError) as fault:
        return no_connection(fault, WHO)
    with _hung_up_on(connection, after=IN_ALL / gateway.pace) as hung_up:
        sent = _posted(connection, gateway, letter) or _answer(connection)
    # Headers that are cut off count as whole for http.client, so what it made of them is not believed.
    return NO_WORD if hung_up.is_set() else sent


def _connected(gateway: Gateway) -> http.client.HTTPConnection:
    line = socket.create_connection((gateway.host, gateway.port), timeout=CONNECT / gateway.pace)
    line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)  # head and body do not wait for each other
    if gateway.secure:
        try:
            line = ssl.create_default_context().wrap_socket(line, server_hostname=gateway.host)
        except OSError:
            line.close()
            raise
    line.settimeout(READ / gateway.pace)
    connection = http.client.HTTPConnection(gateway.host, gateway.port)
    connection.sock = line
    return connection


@contextmanager
def _hung_up_on(connection: http.client.HTTPConnection, *, after: float) -> Iterator[threading.Event]:
    """The event is set when it took too long and we hung up."""
    line, hung_up = connection.sock, threading.Event()

    def hang_up() -> None:
        hung_up.set()
        with suppress(OSError):
            line.shutdown(socket.SHUT_RDWR)

    alarm = threading.Timer(after, hang_up)
    alarm.daemon = True
    alarm.start()
    try:
        yield hung_up
    finally:
        alarm.cancel()
        connection.close()


def _posted(connection: http.client.HTTPConnection, gateway: Gateway, letter: Letter) -> Sent | None:
    """Send the request; until its last byte is handed over, nothing was asked for."""
    wanted = {"to": letter.to, "text": letter.body, "id": letter.message_id}
    if gateway.sender:
        wanted["from"] = gateway.sender
    headers = {"Content-Type": "application/json", "Idempotency-Key": json.dumps(letter.message_id.strip("<>"))}
    if gateway.token:
        headers["Authorization"] = f"Bearer {gateway.token}"
    try:
        connection.request("POST", gateway.path, body=json.dumps(wanted).encode(), headers=headers)
    except ValueError:  # http.client refuses what would break a header
        return Sent(Outcome.CONFIG, "the token or the path of the gateway cannot be written", whole_channel=True)
    except (OSError, http.client.HTTPException) as fault:
        return Sent(Outcome.TRANSIENT, f"broke off before the message was handed in ({type(fault).__name__})")
    return None


def _answer(connection: http.client.HTTPConnection) -> Sent:
    try:
        answer = connection.getresponse()
        good = 200 <= answer.status < 300  # noqa: PLR2004 - RFC 9110: successful
        body = answer.read(MOST_OF_AN_ANSWER) if good else b""
    except (OSError, http.client.HTTPException, ValueError) as fault:
        return Sent(Outcome.UNKNOWN, f"no word after the message was handed in ({type(fault).__name__})")
    if not good:
        return by_status(answer.status, WHO, retry_after=answer.headers.get("Retry-After", ""))
    return inside(body.decode("utf-8", errors="replace"), WHO) or Sent(Outcome.OK)
