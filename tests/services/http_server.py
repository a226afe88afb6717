"""A web service on loopback that does as it is told, and keeps what it was sent."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any


@dataclass
class Desk:
    """How it answers. `silent`: seconds before it says anything; `drips`: it never comes to an end of its headers."""

    status: int = 200
    body: str = "{}"
    headers: dict[str, str] = field(default_factory=dict)
    silent: float = 0.0
    drips: bool = False
    port: int = 0
    asked: list[Asked] = field(default_factory=list)


@dataclass(frozen=True)
class Asked:
    """One request."""

    path: str
    headers: dict[str, str]
    body: str

    def json(self) -> Any:
        return json.loads(self.body)


class _Server(ThreadingHTTPServer):
    """With what it was told."""

    daemon_threads = True
    desk: Desk


class _Answer(BaseHTTPRequestHandler):
    server: _Server

    def do_POST(self) -> None:
        desk = self.server.desk
        body = self.rfile.read(int(self.headers.get("Content-Length", 0))).decode()
        desk.asked.append(Asked(self.path, dict(self.headers), body))
        time.sleep(desk.silent)
        with suppress(OSError):  # we may be hung up on
            self._say(desk)

    def do_PUT(self) -> None:
        self.do_POST()

    def _say(self, desk: Desk) -> None:
        self.send_response(desk.status)
        for name, value in desk.headers.items():
            self.send_header(name, value)
        while desk.drips:
            self.flush_headers()
            time.sleep(0.1)
            self.send_header("X-More", "and more")
        self.send_header("Content-Length", str(len(desk.body.encode())))
        self.end_headers()
        self.wfile.write(desk.body.encode())

    def log_message(self, *_args: Any) -> None:
        """Nothing is said of it."""


@contextmanager
def serving(desk: Desk) -> Iterator[Desk]:
    """The service until the end of the block."""
    server = _Server(("127.0.0.1", 0), _Answer)
    server.desk, desk.port = desk, server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield desk
    finally:
        desk.drips = False
        server.shutdown()
        server.server_close()
