"""Who treats one species when the practice is closed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from clinic.models import OutOfHoursProvider, Practice
from clinic.services.refusals import Refused


@dataclass(frozen=True)
class Provider:
    """What an owner needs at night. Phones are E.164; `second_phone` may be empty."""

    name: str
    phone: str
    address: str
    second_phone: str = ""


def name_provider(practice: Practice, *, species: str, provider: Provider, checked_on: dt.date) -> OutOfHoursProvider:
    """Put `provider` in charge of `species`, in place of whoever was. `checked_on`: when somebody last asked them
    whether they still take this species. Raises Refused for a missing name or address."""
    if not provider.name.strip() or not provider.address.strip():
        raise Refused("A provider needs a name and an address: an owner drives there at night.", field="address")
    named, _ = OutOfHoursProvider.objects.update_or_create(
        practice=practice,
        species=species,
        defaults={
            "name": provider.name.strip(),
            "phone": provider.phone,
            "second_phone": provider.second_phone,
            "address": provider.address.strip(),
            "last_checked_on": checked_on,
        },
    )
    return named
