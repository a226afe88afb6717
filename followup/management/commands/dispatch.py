"""`manage.py dispatch`: the tick in a loop of its own, beside or instead of Celery; any number of copies."""

from __future__ import annotations

import logging
import signal
import threading
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import close_old_connections

from clinic import clock
from clinic.starting import unsafe
from followup.services.lanes import Spread, in_turn, side_by_side
from followup.services.tick import tick

logger = logging.getLogger(__name__)

EVERY_SECONDS = 5.0


class Command(BaseCommand):
    """Ticks until it is stopped. It waits on the monotonic clock, so a clock set back delays nothing."""

    help = "Ask, remind, alert and send what is due, in a loop."
    requires_system_checks = ()  # `unsafe` asks them

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Once, or in a loop."""
        parser.add_argument("--once", action="store_true", help="one tick, then end")

    def handle(self, *, once: bool, **_: Any) -> None:
        """Tick, wait, tick; SIGTERM ends it after the tick."""
        if reasons := unsafe():
            raise CommandError("\n".join(reasons))
        stopped, every = threading.Event(), EVERY_SECONDS / settings.TRIAL_PACE
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_args: stopped.set())
        if once:
            _tick(in_turn)
            return
        while not stopped.is_set():
            try:
                _tick(side_by_side)
            except Exception:
                logger.exception("a tick failed; the next one comes in %s s", every)
            close_old_connections()
            stopped.wait(every)


def _tick(spread: Spread) -> None:
    tick(now=clock.for_the_tick(), spread=spread, off_by=clock.off_by(), moved_on=clock.moved_on())
