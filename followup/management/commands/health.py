"""`manage.py health`: whether sending works, for a container's or a system's own check of its processes."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError, ProgrammingError

from clinic import clock
from followup.services.health import health


class Command(BaseCommand):
    """Prints times and counts; ends with 1 when sending has been down for three minutes, and says why."""

    help = "Say whether messages are being sent."

    def handle(self, **_: Any) -> None:
        """The same facts as the page /health."""
        try:
            found = health(clock.now())
        except (OperationalError, ProgrammingError) as fault:
            raise CommandError(f"The database cannot be asked: {str(fault).splitlines()[0]}.") from None
        for name, value in found.items():
            if name not in {"ok", "reasons"}:
                self.stdout.write(f"{name.replace('_', ' ')}: {'never' if value is None else value}")
        if not found["ok"]:
            raise CommandError(" ".join(["Sending is down.", *found["reasons"]]))
