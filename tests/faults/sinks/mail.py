"""A mail server that writes down what it accepts: `python -m tests.faults.sinks.mail PORT LOG ORDERS`."""

from __future__ import annotations

import asyncio
import signal
import sys
from email import message_from_bytes, policy
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller

from tests.faults.sinks.orders import Orders, Refusals, picked
from tests.faults.sinks.witness import Log

FOR_EVER = 3600.0
"""Seconds; no sender waits so long."""


class Sink:
    """Answers as it is ordered to."""

    def __init__(self, log: Log, orders: Path) -> None:
        """`orders`: the file in which they stand."""
        self.log, self.orders, self.refusals = log, orders, Refusals()

    async def handle_RCPT(  # noqa: N802 - the server's name and shape for it
        self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any
    ) -> str:
        """Is this person known here?"""
        if picked(address, Orders.read(self.orders).nobody, salt="nobody"):
            return "550 5.1.1 nobody of that name"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802 - as above
        """Written down, then answered; a sender that has hung up meanwhile is written down no more."""
        orders, to = Orders.read(self.orders), envelope.rcpt_tos[0]
        if self.refusals.refuses(to, orders.refused):
            return "451 4.3.0 not now"
        await asyncio.sleep(orders.takes / 2)
        mail = message_from_bytes(envelope.content, policy=policy.default)
        key, subject = str(mail["Message-ID"]), str(mail["Subject"])
        self.log.accept(channel="email", key=key, to=to, text=subject, synced=orders.synced)
        silent = picked(to, orders.silent, salt="silent")
        await asyncio.sleep(FOR_EVER if silent else orders.takes / 2)
        return "250 OK"


def main(port: str, log: str, orders: str) -> None:
    """Until it is killed."""
    controller = Controller(Sink(Log(Path(log)), Path(orders)), hostname="127.0.0.1", port=int(port))
    controller.start()
    signal.pause()


if __name__ == "__main__":
    main(*sys.argv[1:])
