"""Take a person in as staff of a practice, and make the one-time code with which he sets his password."""

from __future__ import annotations

import datetime as dt
import secrets
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from clinic.models import Membership, Practice, Role, SetUpCode, Staff
from clinic.services.refusals import Refused
from clinic.services.use_set_up_code import code_hash

VALID_FOR = dt.timedelta(days=7)
"""How long a code may lie in somebody's inbox. Mark C: long enough for a week away."""
BYTES = 16
"""128 bits of chance: cannot be guessed within its week."""


@dataclass(frozen=True)
class Person:
    """Whom to take in, as typed. `mobile` is E.164, or empty: then he cannot be alerted by text message."""

    name: str
    email: str
    mobile: str = ""


def invite(practice: Practice, *, person: Person, role: Role, now: dt.datetime) -> str:
    """The code, which is kept nowhere: only its hash is. Again for the same e-mail: a new code, and the new role.

    Raises Refused when the e-mail is none, the name is missing, or the person has left.
    """
    _must_be_somebody(person)
    code = secrets.token_urlsafe(BYTES)
    with transaction.atomic():
        staff = _login_of(person)
        Membership.objects.update_or_create(practice=practice, staff=staff, defaults={"role": role, "active": True})
        SetUpCode.objects.usable(now).filter(staff=staff).update(used_at=now)  # only the newest code opens
        SetUpCode.objects.create(staff=staff, code_hash=code_hash(code), expires_at=now + VALID_FOR)
    return code


def _must_be_somebody(person: Person) -> None:
    try:
        validate_email(person.email)
    except ValidationError:
        words = f"“{person.email}” is not an e-mail address, and staff log in with theirs."
        raise Refused(words, field="email") from None
    if not person.name.strip():
        raise Refused("Who is it? A name is needed, since every sign-off carries one.", field="name")


def _login_of(person: Person) -> Staff:
    """One human is one login, however many practices he works at."""
    staff = Staff.objects.filter(email__iexact=person.email).first()
    if staff is None:
        staff = Staff(email=person.email.lower(), name=person.name.strip(), mobile=person.mobile)
        staff.set_unusable_password()
        staff.save()
    elif not staff.is_active:
        raise Refused(f"{staff.name} ({staff.email}) has left, and an invitation lets nobody back in.", field="email")
    return staff
