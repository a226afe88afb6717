"""`manage.py demo`: fill an empty demo with the invented practice, and print its invented log-ins."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from clinic import clock
from followup.services.demo import fill


class Command(BaseCommand):
    """Refuses to run outside the demo, so that invented patients never meet real ones."""

    help = "Fill an empty demo with an invented practice."

    def handle(self, **_: Any) -> None:
        """Live through the fortnight before the demo's first morning, and print who may log in."""
        if not settings.DEMO:
            raise CommandError("This is no demo: start one by `manage.py serve --demo`.")
        self.stdout.write("Living through the invented practice's last two weeks ...")
        logins = fill(now=clock.now())
        logins_file = settings.DATA_DIR / "logins.txt"
        if logins:
            lines = [f"{each.email}  {each.password}  ({each.role})" for each in logins]
            logins_file.write_text("\n".join(lines) + "\n", encoding="utf-8")
            logins_file.chmod(0o600)
        self.stdout.write("Invented log-ins of this demo:")
        self.stdout.write(logins_file.read_text(encoding="utf-8"))
