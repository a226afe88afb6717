"""An owner's telephone: it posts answers, hangs up when told to, and tries again with the same ids."""

from __future__ import annotations

import http.client
import socket
import uuid
from dataclasses import dataclass, field
from urllib.parse import urlencode

from tests.faults.rig import Rig

PATIENCE = 30.0
"""Seconds that a telephone waits for a page."""
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


@dataclass(frozen=True)
class Answer:
    """One answer of one sitting. Sent again it keeps both ids."""

    values: tuple[str, ...]
    question: str = "demeanour"
    session: str = field(default_factory=lambda: uuid.uuid4().hex)
    entry: str = field(default_factory=lambda: uuid.uuid4().hex)

    @property
    def form(self) -> bytes:
        """As a browser posts it."""
        return urlencode({"question": self.question, "entry": self.entry, "answer": self.values}, doseq=True).encode()


@dataclass(frozen=True)
class Said:
    """What the program said: its status, where it leads, and the page."""

    status: int
    to: str
    page: str

    @property
    def is_a_receipt(self) -> bool:
        """Whether the owner may believe that his answer is kept."""
        return self.status < 400


class Telephone:
    """Opens one owner's link, about one plan."""

    def __init__(self, rig: Rig, link: dict[str, object]) -> None:
        """`link`: as seeds.home prints it."""
        self.port, self.home, self.plan = rig.port, str(link["home"]), link["plan"]

    def path(self, answer: Answer) -> str:
        """Where the answer is posted."""
        return f"{self.home}ask/{self.plan}/{answer.session}/"

    def post(self, answer: Answer) -> Said:
        """Send it and wait for the page. Raises OSError when nobody answers."""
        return self.send("POST", self.path(answer), answer.form, FORM)

    def get(self, path: str) -> Said:
        """A page."""
        return self.send("GET", path)

    def send(self, method: str, path: str, body: bytes | None = None, headers: dict[str, str] | None = None) -> Said:
        """One request on a connection of its own."""
        line = http.client.HTTPConnection("localhost", self.port, timeout=PATIENCE)
        try:
            line.request(method, path, body, headers or {})
            got = line.getresponse()
            return Said(got.status, got.headers.get("Location", ""), got.read().decode())
        except http.client.HTTPException as fault:
            raise OSError(str(fault)) from fault
        finally:
            line.close()

    def post_and_hang_up(self, answer: Answer) -> None:
        """Send all of it, and be gone before a word comes back."""
        head = (
            f"POST {self.path(answer)} HTTP/1.1\r\nHost: localhost:{self.port}\r\nConnection: close\r\n"
            f"Content-Type: {FORM['Content-Type']}\r\nContent-Length: {len(answer.form)}\r\n\r\n"
        )
        with socket.create_connection(("localhost", self.port), timeout=PATIENCE) as line:
            line.sendall(head.encode() + answer.form)
