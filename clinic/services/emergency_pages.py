"""Who to phone, as one plain file for each practice: it is there when the database, or the program, is not."""

from __future__ import annotations

import datetime as dt
import os
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string

from clinic.models import OutOfHoursProvider, Practice
from clinic.models.practice import WEEKDAYS

SHORT_NAME = re.compile(r"[-\w]+", re.ASCII)
"""What a practice's short name is made of: nothing else is looked for on the disk."""


@dataclass(frozen=True)
class Cover:
    """One provider, and every species that it takes when the practice is closed."""

    species: tuple[str, ...]
    provider: OutOfHoursProvider


@dataclass(frozen=True)
class Open:
    """When the practice is open on one weekday, or one date that differs; `hours` empty: closed."""

    day: str | dt.date
    hours: str
    note: str = ""


def write_emergency_pages(*, now: dt.datetime) -> None:
    """Write the file of every practice anew, each wholly or not at all. Raises OSError when the disk refuses.

    Whoever changes a practice calls this after its transaction; `serve` does at each start.
    """
    folder = _folder()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    for practice in Practice.objects.prefetch_related("opening_hours", "opening_exceptions", "providers"):
        unfinished = folder / f".{practice.slug}.{os.getpid()}"
        unfinished.write_text(_written(practice, now), encoding="utf-8")
        unfinished.replace(folder / f"{practice.slug}.html")


def emergency_page(slug: str) -> str | None:
    """The file of the practice with this short name; None when there is none. Asks no database."""
    if not SHORT_NAME.fullmatch(slug):
        return None
    try:
        return (_folder() / f"{slug}.html").read_text(encoding="utf-8")
    except OSError:
        return None


def _folder() -> Path:
    return Path(settings.DATA_DIR) / "emergency"


def _written(practice: Practice, now: dt.datetime) -> str:
    shown = {
        "practice": practice,
        "week": _week(practice),
        "dates": _dates(practice, now.astimezone(practice.zone).date()),
        "covers": _covers(practice.providers.all()),
    }
    return render_to_string("clinic/emergency.html", shown)


def _week(practice: Practice) -> list[Open]:
    rows = {row.weekday: f"{row.opens:%H:%M}-{row.closes:%H:%M}" for row in practice.opening_hours.all()}
    return [Open(name, rows.get(number, "")) for number, name in WEEKDAYS] if rows else []


def _dates(practice: Practice, today: dt.date) -> list[Open]:
    ahead = (row for row in practice.opening_exceptions.all() if row.date >= today)
    return [
        Open(row.date, f"{row.opens:%H:%M}-{row.closes:%H:%M}" if row.opens and row.closes else "", row.note)
        for row in ahead
    ]


def _covers(providers: Iterable[OutOfHoursProvider]) -> list[Cover]:
    """One line for a provider, however many species it takes."""
    found: dict[tuple[str, ...], list[OutOfHoursProvider]] = {}
    for each in sorted(providers, key=lambda row: row.species):
        key = (each.name, str(each.phone), str(each.second_phone), each.address)
        found.setdefault(key, []).append(each)
    return [Cover(tuple(each.get_species_display() for each in same), same[0]) for same in found.values()]
