"""Who is treated, by whom, and where: one file per record."""

from __future__ import annotations

from clinic.models.clock_offset import ClockOffset
from clinic.models.owner import Consent, Owner
from clinic.models.patient import Carer, Patient, Weight
from clinic.models.practice import (
    OpeningException,
    OpeningHours,
    OutOfHoursProvider,
    Practice,
)
from clinic.models.staff import Membership, OnCallShift, Role, SetUpCode, Staff

__all__ = [
    "Carer",
    "ClockOffset",
    "Consent",
    "Membership",
    "OnCallShift",
    "OpeningException",
    "OpeningHours",
    "OutOfHoursProvider",
    "Owner",
    "Patient",
    "Practice",
    "Role",
    "SetUpCode",
    "Staff",
    "Weight",
]
