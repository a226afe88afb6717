"""`manage.py serve`: the whole program in one process."""

from __future__ import annotations

import signal
import sys
from argparse import ArgumentParser
from contextlib import suppress
from pathlib import Path
from typing import Any

import waitress.server
from django.conf import settings
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from django.utils.module_loading import import_string

from clinic import clock, preparing
from clinic.celery import app as celery_app
from clinic.embedded import AlreadyServing, Embedded, only_one

WEB_THREADS = 6
"""Requests at once: a practice has a handful of screens, and owners answer in seconds."""


class Command(BaseCommand):
    """Sets up what is missing, then serves pages and sends messages until it is stopped."""

    help = "Serve the program: pages, worker and timetable in one process."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to serve, and whether as a demo (manage.py reads `--demo` too)."""
        parser.add_argument("--demo", action="store_true", help="an invented practice, own data")
        parser.add_argument("--host", default="127.0.0.1", help="0.0.0.0 for other machines")
        parser.add_argument("--port", type=int, help="8000, or the next free one, unless given")

    def handle(self, *, host: str, port: int | None, demo: bool, **_: Any) -> None:
        """Hold the lock of the data folder for as long as it runs."""
        if demo and not settings.DEMO:
            raise CommandError("A demo is started by `manage.py serve --demo`.")
        folder = Path(settings.DATA_DIR)
        preparing.make_folder(folder)
        try:
            with only_one(folder / "serve.lock"):
                self.prepare(folder)
                self.serve(host, port)
        except AlreadyServing as holder:
            raise CommandError(f"{folder} is already being served ({holder}).") from None

    def prepare(self, folder: Path) -> None:
        """Keys, translations, tables, the demo's practice, and who to phone when all of that is gone."""
        preparing.prepare(folder)
        if settings.DEMO and settings.DEMO_COMMAND in get_commands():
            call_command(settings.DEMO_COMMAND, stdout=self.stdout)
        preparing.keep_emergency_pages(now=clock.now())

    def serve(self, host: str, port: int | None) -> None:
        """Until Ctrl-C or SIGTERM: then no new requests, then no new ticks, then the end."""
        server = self.listen(host, port)
        address = preparing.address(host, server.effective_port)
        if not settings.PUBLIC_URL_GIVEN:
            settings.PUBLIC_URL = address  # before any thread: what owners are sent is what we serve
        embedded = Embedded(
            celery_app,
            threads=settings.EMBEDDED_THREADS,
            last_tick=import_string(settings.LAST_TICK) if settings.LAST_TICK else None,
            late=settings.TICK_LATE_SECONDS,
        )
        signal.signal(signal.SIGTERM, stop)
        embedded.start()
        self.stdout.write(f"Serving at {address}  (Ctrl-C stops it)")
        self.stdout.flush()
        try:
            server.run()
        finally:
            embedded.stop()
            server.close()
            self.stdout.write("Stopped.")

    def listen(self, host: str, port: int | None) -> waitress.server.BaseWSGIServer:
        """A server bound to the port that was given, else to the first free one from 8000 on."""
        wanted = [port] if port is not None else [*range(8000, 8020), 0]
        for choice in wanted[:-1]:
            with suppress(OSError):
                return self.bind(host, choice)
        try:
            return self.bind(host, wanted[-1])
        except OSError as fault:
            raise CommandError(f"Cannot serve at {host}:{port or 0}: {fault.strerror}.") from None

    def bind(self, host: str, port: int) -> waitress.server.BaseWSGIServer:
        """waitress at one port, not yet answering."""
        return waitress.server.create_server(
            get_wsgi_application(),
            host=host,
            port=port,
            threads=WEB_THREADS,
            ident=None,
            max_request_body_size=settings.REQUEST_MAX_SIZE,
            **preparing.trusted_proxy(settings.PROXY_COUNT),
        )


def stop(_signum: int, _frame: object) -> None:
    """End as Ctrl-C does: waitress lets go, then `finally` stops the rest in order."""
    sys.exit(0)
