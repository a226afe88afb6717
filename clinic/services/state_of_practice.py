"""What is set up at a practice, and what is missing before a patient can be followed up safely."""

from __future__ import annotations

import datetime as dt

from clinic.models import Membership, OnCallShift, Practice, Role
from clinic.models.practice import WEEKDAYS
from clinic.models.staff import MembershipQuerySet


def describe(practice: Practice, *, now: dt.datetime) -> list[str]:
    """One line for each thing that is set up."""
    week = {row.weekday: f"{row.opens:%H:%M}-{row.closes:%H:%M}" for row in practice.opening_hours.all()}
    today = now.astimezone(practice.zone).date()
    return [
        f"{practice.slug}: {practice.name}, {practice.phone}, {practice.time_zone}",
        "  open: " + ", ".join(f"{name[:3]} {week.get(number, 'closed')}" for number, name in WEEKDAYS),
        *(f"  on {row}" for row in practice.opening_exceptions.filter(date__gte=today)),
        *(f"  closed hours: {row}, {row.phone}, checked {row.last_checked_on}" for row in practice.providers.all()),
        *(f"  staff: {_person(row)}" for row in _people(practice)),
        *(
            f"  on call {row.position}: {row.staff} from {row.starts_at.astimezone(practice.zone):%Y-%m-%d %H:%M}"
            f" to {row.ends_at.astimezone(practice.zone):%Y-%m-%d %H:%M}"
            for row in practice.on_call_shifts.filter(ends_at__gt=now).select_related("staff").order_by("starts_at")
        ),
    ]


def missing(practice: Practice, *, now: dt.datetime) -> list[str]:
    """One sentence for each gap."""
    gaps = (
        (practice.opening_hours.exists(), "Opening hours: owners are told to phone the practice at no hour."),
        (practice.providers.exists(), "Who treats which species when it is closed."),
        (_people(practice).filter(role=Role.VET).exists(), "A vet: nobody can confirm a plan or sign it off."),
        (OnCallShift.objects.at(practice, now).exists(), "Somebody on call now: an emergency alerts whoever is left."),
    )
    return [words for there, words in gaps if not there]


def _people(practice: Practice) -> MembershipQuerySet:
    return (
        Membership.objects.current().filter(practice=practice).select_related("staff").order_by("role", "staff__name")
    )


def _person(row: Membership) -> str:
    waiting = "" if row.staff.has_usable_password() else ", has not chosen a password yet"
    return f"{row.staff.name}, {row.get_role_display()}, {row.staff.email}{waiting}"
