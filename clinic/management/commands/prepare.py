"""`manage.py prepare`: what a server runs once before its processes start, and again after each update."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from clinic import clock, preparing


class Command(BaseCommand):
    """Folder, keys, translations, tables, static files, and who to phone when all of that is gone."""

    help = "Make ready what web, worker, beat and dispatch need. `manage.py serve` does it by itself."

    def handle(self, **_: Any) -> None:
        """Twice, or by two at once, does no harm."""
        preparing.prepare(Path(settings.DATA_DIR))
        preparing.keep_emergency_pages(now=clock.now())
        self.stdout.write("Ready.")
