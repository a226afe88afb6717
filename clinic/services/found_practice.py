"""Found a practice: the row that everything else belongs to."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db import IntegrityError, transaction
from django.utils.text import slugify

from clinic.models import Practice
from clinic.services.refusals import Refused


@dataclass(frozen=True)
class NewPractice:
    """What is known of a practice on its first day. `phone` is E.164; without `slug` the name makes one."""

    name: str
    phone: str
    address: str
    slug: str = ""
    email: str = ""
    time_zone: str = "Europe/London"
    jurisdiction: str = "eu_uk"


def found_practice(new: NewPractice, *, now: dt.datetime) -> Practice:
    """The practice. Raises Refused for a missing name or address, an unknown time zone, or a short name in use."""
    if not new.name.strip() or not new.address.strip():
        raise Refused("A practice needs a name and an address: owners in a hurry drive there.", field="address")
    _must_be_a_zone(new.time_zone)
    slug = slugify(new.slug or new.name)[:50]
    if not slug:
        raise Refused("No short name for addresses can be made of this name: give one with --slug.", field="slug")
    try:
        with transaction.atomic():
            return Practice.objects.create(
                slug=slug,
                name=new.name.strip(),
                address=new.address.strip(),
                phone=new.phone,
                email=new.email,
                time_zone=new.time_zone,
                languages=["en"],
                jurisdiction=new.jurisdiction,
                created_at=now,
            )
    except IntegrityError:
        raise Refused(
            f"There is a practice “{slug}” already. Give another short name with --slug.", field="slug"
        ) from None


def _must_be_a_zone(name: str) -> None:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(f"“{name}” is no time zone. Write one like Europe/London.", field="time_zone") from None
