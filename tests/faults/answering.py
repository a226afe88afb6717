"""An owner's telephone: it posts answers, hangs up when told to, and tries again with the same ids.

And the screen of the staff, which looks at pages.
"""

from __future__ import annotations

import http.client
import http.cookiejar
import re
import socket
import urllib.request
import uuid
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from tests import world
from tests.faults.rig import BEFORE, Rig
from tests.faults.seeds import DUE

PATIENCE = 30.0
"""Seconds that a telephone waits for a page."""
VET = "vet.of.elm.street.clinic@example.org"
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

    def __init__(self, rig: Rig, link: dict[str, Any]) -> None:
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

    def send_photo(self, answer: Answer, photo: bytes) -> Said:
        """A photo to the words of this sitting."""
        line = b"a-line-that-no-photo-holds"
        part = b'Content-Disposition: form-data; name="photo"; filename="p.jpg"\r\nContent-Type: image/jpeg\r\n\r\n'
        body = b"--" + line + b"\r\n" + part + photo + b"\r\n--" + line + b"--\r\n"
        path = f"{self.home}photo/{self.plan}/{answer.session}/"
        return self.send("POST", path, body, {"Content-Type": f"multipart/form-data; boundary={line.decode()}"})

    def answers(self) -> bool:
        """Whether the owner's page comes."""
        with suppress(OSError):
            return self.get(self.home).status == 200
        return False


def with_a_telephone(rig: Rig, *seeds: str) -> Telephone:
    """One patient at home, and his owner's telephone, before anything that else is seeded falls due."""
    telephone = Telephone(rig, rig.seed(*seeds, "home()"))
    rig.be_at(DUE - BEFORE)
    return telephone


def kept(rig: Rig, answer: Answer) -> list[tuple[Any, ...]]:
    """The replies under this answer's session: what is stored, and its state."""
    return rig.ask(f"SELECT raw, state FROM followup_reply WHERE client_id = '{answer.session}'")  # noqa: S608 - our id


class Screen:
    """A vet who is logged in."""

    def __init__(self, rig: Rig) -> None:
        """Log in. Raises AssertionError when the door stays shut."""
        self.address = rig.address
        cookies = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self._open = urllib.request.build_opener(cookies).open
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.page("/log-in/"))
        assert token is not None
        who = {"username": VET, "password": world.PASSWORD, "csrfmiddlewaretoken": token[1]}
        with self._open(f"{self.address}/log-in/", urlencode(who).encode(), timeout=PATIENCE) as opened:
            assert "/log-in/" not in opened.url, "the door stays shut"

    def page(self, path: str) -> str:
        """What a page shows."""
        with self._open(f"{self.address}{path}", timeout=PATIENCE) as opened:
            return str(opened.read().decode())
