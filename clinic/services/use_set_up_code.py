"""A new member of staff opens a one-time address and chooses a password."""

from __future__ import annotations

import datetime as dt
import hashlib

from django.db import transaction

from clinic.models import SetUpCode, Staff


def code_hash(code: str) -> str:
    """What is kept of a code. A code is 128 bits of chance, so that a plain hash is enough."""
    return hashlib.sha256(code.encode()).hexdigest()


def whose_code(code: str, *, now: dt.datetime) -> Staff | None:
    """Whom a code was made for; None when it is wrong, used, run out, or its owner has left."""
    codes = SetUpCode.objects.usable(now).filter(code_hash=code_hash(code), staff__is_active=True)
    found = codes.select_related("staff").first()
    return found.staff if found else None


def use_set_up_code(code: str, *, password: str, now: dt.datetime) -> Staff | None:
    """Set the password and spend the code, once: of two posts at the same moment one gets None."""
    with transaction.atomic():
        staff = whose_code(code, now=now)
        if staff is None or not SetUpCode.objects.usable(now).filter(code_hash=code_hash(code)).update(used_at=now):
            return None
        staff.set_password(password)
        staff.save(update_fields=["password"])
        SetUpCode.objects.usable(now).filter(staff=staff).update(used_at=now)  # older invitations end with it
    return staff
