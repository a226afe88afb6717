"""`manage.py prepare`: what a server runs once before its processes start, and again after each update."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from clinic import clock, preparing


class Command(BaseCommand):
    """Folder, keys, translations, tables, static files, and who to phone when all of that is gone."""

    help = "Make ready what web, worker, beat and dispatch need. `manage.py serve` does it by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """How patiently, and whether all of it."""
        parser.add_argument("--wait", type=float, default=0, help="seconds in which a starting database must answer")
        parser.add_argument("--translations", action="store_true", help="only those: where the program is built")

    def handle(self, *, wait: float, translations: bool, **_: Any) -> None:
        """Twice, or by two at once, does no harm."""
        if translations:
            preparing.compile_translations(settings.LOCALE_PATHS)
        else:
            preparing.prepare(Path(settings.DATA_DIR), wait=wait)
            preparing.keep_emergency_pages(now=clock.now())
        self.stdout.write("Ready.")
