"""A gateway for text messages that writes down what it takes: `python -m tests.faults.sinks.texts PORT LOG ORDERS`."""

from __future__ import annotations

import json
import sys
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from tests.faults.sinks.orders import Orders, Refusals, picked
from tests.faults.sinks.witness import Log

FAULT = 400
FOR_EVER = 3600.0
"""Seconds; no sender waits so long."""


def gateway(log: Log, orders: Path) -> type[BaseHTTPRequestHandler]:
    """The handler of a server that answers as it is ordered to."""
    refusals = Refusals()

    class Gateway(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            """Taken, then answered."""
            ordered = Orders.read(orders)
            text = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            if refusals.refuses(text["to"], ordered.refused):
                return self.answer(503, "{}")
            time.sleep(ordered.takes / 2)
            if ordered.status < FAULT:
                log.accept(channel="sms", key=text["id"], to=text["to"], text=text["text"])
            time.sleep(FOR_EVER if picked(text["to"], ordered.silent, salt="silent") else ordered.takes / 2)
            return self.answer(ordered.status, ordered.says)

        def answer(self, status: int, body: str) -> None:
            """A whole answer."""
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body.encode())

        def log_message(self, *_: Any) -> None:
            """Nothing on the console."""

    return Gateway


def main(port: str, log: str, orders: str) -> None:
    """Until it is killed."""
    server = ThreadingHTTPServer(("127.0.0.1", int(port)), gateway(Log(Path(log)), Path(orders)))
    server.daemon_threads = True
    server.serve_forever()


if __name__ == "__main__":
    main(*sys.argv[1:])
