"""An invented practice, its people and two recoveries: a guinea pig's castration and a rabbit's spay.

Every number is from a range reserved for fiction, every address ends in example.org.
"""

from __future__ import annotations

import copy
import datetime as dt
import itertools
from typing import Any
from zoneinfo import ZoneInfo

from clinic.models import (
    Membership,
    OnCallShift,
    OpeningHours,
    OutOfHoursProvider,
    Owner,
    Patient,
    Practice,
    Role,
    Staff,
)
from followup.models import Plan
from followup.services.confirm import confirm
from followup.services.draft import NewRecovery
from followup.services.enrol import enrol
from followup.services.seed_protocols import seed_protocols

LONDON = ZoneInfo("Europe/London")
SURGERY_DAY = dt.date(2025, 3, 10)
"""A Monday."""
PROCEDURES = {"guinea_pig": "castration", "rabbit": "spay"}
PASSWORD = "carrots before seven"
Json = dict[str, Any]
_number = itertools.count(1)


def at(clock: str, *, day: int = 0, of: dt.date = SURGERY_DAY) -> dt.datetime:
    """'18:30' on London's clock, `day` days after surgery."""
    hour, minute = map(int, clock.split(":"))
    return dt.datetime.combine(of + dt.timedelta(days=day), dt.time(hour, minute), LONDON).astimezone(dt.UTC)


def practice(slug: str = "elm-street", *, seeded: bool = True) -> Practice:
    """Open Monday to Friday 08:00 to 18:30, Saturday till noon; others answer for both species when it is closed."""
    found = Practice.objects.filter(slug=slug).first()
    if found is not None:
        return found
    made = Practice.objects.create(
        slug=slug,
        name=f"{slug.replace('-', ' ').title()} Clinic",
        address="1 Invented Street, Nowhere",
        phone="+441632960100",
        email=f"desk@{slug}.example.org",
        languages=["en"],
        created_at=at("08:00", day=-30),
    )
    for weekday in range(6):
        closes = dt.time(18, 30) if weekday < 5 else dt.time(12)
        OpeningHours.objects.create(practice=made, weekday=weekday, opens=dt.time(8), closes=closes)
    for species, phone in (("guinea_pig", "+441632960200"), ("rabbit", "+441632960201")):
        OutOfHoursProvider.objects.create(
            practice=made,
            species=species,
            name=f"Night vets for {species.replace('_', ' ')}s",
            phone=phone,
            second_phone="+441632960209",
            address="9 Night Lane, Nowhere",
            last_checked_on=SURGERY_DAY,
        )
    if seeded:
        seed_protocols(made, now=at("08:00", day=-30))
    return made


def staff(where: Practice, role: Role | str = Role.VET, name: str = "") -> Staff:
    """A member of staff; the same role and name again is the same person."""
    who = name or f"{Role(role).label.capitalize()} of {where.name}"
    email = f"{who.lower().replace(' ', '.')}@example.org"
    found = Staff.objects.filter(email=email).first()
    if found is None:
        found = Staff(email=email, name=who, mobile="+447700900500")
        found.set_password(PASSWORD)
        found.save()
    Membership.objects.get_or_create(practice=where, staff=found, defaults={"role": role})
    return found


def on_call(where: Practice, who: Staff, *, position: int = 1, days: int = 20) -> OnCallShift:
    """On call without a break from the day of surgery."""
    return OnCallShift.objects.create(
        practice=where, staff=who, starts_at=at("00:00"), ends_at=at("00:00", day=days), position=position
    )


def owner(where: Practice, **changes) -> Owner:
    """An owner with e-mail and mobile, awake 07:00 to 22:00."""
    number = next(_number)
    facts = {
        "name": f"Robin Example {number}",
        "email": f"robin{number}@example.org",
        "mobile": f"+447700900{number % 1000:03d}",
        "time_zone": "Europe/London",
        "created_at": at("08:00"),
    }
    return Owner.objects.create(practice=where, **facts | changes)


def patient(of: Owner, species: str = "guinea_pig", **changes) -> Patient:
    """Pip, a boar of eight months; or Clover, a doe of ten."""
    facts = {
        "guinea_pig": {"name": "Pip", "sex": "male", "born_on": dt.date(2024, 7, 10)},
        "rabbit": {"name": "Clover", "sex": "female", "born_on": dt.date(2024, 5, 10)},
    }[species]
    return Patient.objects.create(practice=of.practice, owner=of, species=species, **facts | changes)


def _meloxicam(mg_per_kg: float) -> Json:
    return {
        "drug": "meloxicam",
        "mg_per_kg": mg_per_kg,
        "every_hours": 24,
        "days": 2,
        "mg_per_ml": 0.5,
        "syringe_ml": 1,
        "prescribed_by": "Vet of Elm Street Clinic",
        "off_label_explained": True,
    }


def facts(species: str = "guinea_pig", **changes) -> Json:
    """What an enrolment asks for, without who it is: clinical defaults 12, numbers 1 and 2."""
    known: dict[str, Json] = {
        "guinea_pig": {
            "patient": {"weight_g": 900},
            "procedure": "castration",
            "surgery_ended_at": at("10:30").isoformat(),
            "discharged_at": at("16:30").isoformat(),
            "last_ate_before_discharge_at": at("15:00").isoformat(),
            "last_faeces_before_discharge_at": at("14:00").isoformat(),
            "given_in_clinic": [
                {"drug": "meloxicam", "mg_per_kg": 0.2, "route": "sc", "at": at("10:00").isoformat()},
            ],
            "home_medication": [_meloxicam(0.1)],
        },
        "rabbit": {
            "patient": {"weight_g": 2400},
            "procedure": "spay",
            "surgery_ended_at": at("11:00").isoformat(),
            "discharged_at": at("17:00").isoformat(),
            "last_ate_before_discharge_at": at("16:00").isoformat(),
            "last_faeces_before_discharge_at": at("07:30").isoformat(),
            "given_in_clinic": [
                {"drug": "meloxicam", "mg_per_kg": 0.5, "route": "sc", "at": at("10:00").isoformat()},
            ],
            "home_medication": [{**_meloxicam(0.6), "mg_per_ml": 1.5, "syringe_ml": 1}],
        },
    }
    return {**copy.deepcopy(known[species]), **changes}


def case_json(species: str = "guinea_pig", **changes) -> Json:
    """The whole case as a plan keeps it."""
    known = facts(species, **changes)
    name, sex = ("Pip", "male") if species == "guinea_pig" else ("Clover", "female")
    who = {"name": name, "species": species, "sex": sex, **known["patient"]}
    return {**known, "patient": who, "time_zone": "Europe/London", "owner_hours": {"wakes": "07:00", "sleeps": "22:00"}}


def recovery(species: str = "guinea_pig", *, where: Practice | None = None, of: Owner | None = None, **changes):
    """An enrolment as the form hands it over; `changes` are of the facts."""
    where = where or (of.practice if of else practice())
    of = of or owner(where)
    return NewRecovery(
        practice=where,
        owner=of,
        patient=patient(of, species),
        facts=facts(species, **changes),
        key=f"form {next(_number)}",
        consents={"to_be_contacted": True, "photos": True},
    )


def running_plan(
    species: str = "guinea_pig",
    *,
    day: dt.date = SURGERY_DAY,
    now: dt.datetime | None = None,
    where: Practice | None = None,
    of: Owner | None = None,
    **changes,
) -> Plan:
    """A plan that was enrolled at discharge, or at `now`, and confirmed by a vet where it had to be."""
    shift = day - SURGERY_DAY
    request = recovery(species, where=where, of=of, **(_moved(facts(species), shift) | changes))
    moment = now or dt.datetime.fromisoformat(str(request.facts["discharged_at"]))
    plan = enrol(request, staff=staff(request.practice, Role.FRONT_DESK), now=moment)
    if plan.state == Plan.State.WAITING_FOR_VET:
        confirm(plan, staff=staff(request.practice, Role.VET), now=moment)
    plan.refresh_from_db()
    return plan


def _moved(known: Json, shift: dt.timedelta) -> Json:
    """The same facts on another day, at the same clock times."""

    def moved(text: str) -> str:
        local = dt.datetime.fromisoformat(text).astimezone(LONDON)
        return dt.datetime.combine(local.date() + shift, local.time(), LONDON).isoformat()

    times = {key: moved(value) for key, value in known.items() if key.endswith("_at")}
    given = [{**each, "at": moved(each["at"])} for each in known["given_in_clinic"]]
    return {**known, **times, "given_in_clinic": given}
