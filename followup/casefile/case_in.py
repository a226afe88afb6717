"""From the JSON of a case to a Case;

what is unknown, unreadable or contradicts itself is refused by its path.
"""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from followup.casefile.card_in import read_card, read_given, read_prescription
from followup.casefile.observation_json import observation_in
from followup.casefile.refusals import BadCase, refuse
from followup.domain.case import Case, Patient, VetSaid
from followup.domain.hours import Away, NeverThere, OwnerHours
from followup.domain.observation import Observation
from followup.domain.reading import Table
from followup.domain.terms import Caution, Jurisdiction, Procedure, Sex, Species

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FAR_OFF = 3
"""A weight this many times off the discharge weight is a mistake, not a change. Source:

clinical defaults, 14 (D).
"""


@dataclass(frozen=True)
class CaseFile:
    """A whole case file: the case, what was observed (in the file's order), and the moment at which to judge it."""

    case: Case
    observations: tuple[Observation, ...] = ()
    now: dt.datetime | None = None


def read_text(text: str) -> CaseFile:
    """A case file from its text. Raises BadCase."""
    return read_case_file(parse_json(text))


def parse_json(text: str) -> object:
    """The values in `text`, no key of a table twice and every number finite. Raises BadCase."""
    try:
        return json.loads(text, parse_constant=_no_number, object_pairs_hook=_each_once)
    except (ValueError, RecursionError) as fault:  # ValueError also of a number with thousands of digits
        raise BadCase("$", f"is not JSON: {fault}") from None


def read_case(values: object) -> Case:
    """A case alone, as a plan keeps it. Raises BadCase."""
    return read_case_file(values).case


def read_case_file(values: object) -> CaseFile:
    """A case file from parsed JSON. Raises BadCase."""
    table = Table(values, "$", refuse)
    case = _case(table)
    found = CaseFile(
        case=case,
        observations=tuple(_observation(each, case) for each in table.tables("observations")),
        now=table.moment("now") if table.has("now") else None,
    )
    table.done()
    if found.now is not None and found.now < case.discharged_at:
        raise table.wrong("now", "is before the discharge")
    return found


def _each_once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """A table in which no key stands twice: of two weights nobody can say which is meant."""
    found = dict(pairs)
    if len(found) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise BadCase("$", f"{twice} stands twice in the same table")
    return found


def _no_number(name: str) -> float:
    raise BadCase("$", f"{name} is not a number")


def _case(table: Table) -> Case:
    ended, home = table.moment("surgery_ended_at"), table.moment("discharged_at")
    if home < ended:
        raise table.wrong("discharged_at", "is before the end of surgery")
    hours = _hours(table)
    _refuse_never_there(hours, home)
    card = table.table("discharge")
    return Case(
        patient=_patient(table.table("patient")),
        procedure=table.word("procedure", Procedure),
        surgery_ended_at=ended,
        discharged_at=home,
        hours=hours,
        jurisdiction=table.optional_word("jurisdiction", Jurisdiction) or Jurisdiction.EU_UK,
        given_in_clinic=tuple(read_given(each, home) for each in table.tables("given_in_clinic"))
        if table.has("given_in_clinic")
        else None,
        home_medication=tuple(read_prescription(each) for each in table.tables("home_medication"))
        if table.has("home_medication")
        else None,
        last_ate_before_discharge_at=_before_home(table, "last_ate_before_discharge_at", home),
        last_faeces_before_discharge_at=_before_home(table, "last_faeces_before_discharge_at", home),
        last_urine_before_discharge_at=_before_home(table, "last_urine_before_discharge_at", home),
        discharge=read_card(card),
        vet_said=tuple(_vet_said(each) for each in table.tables("vet_said")),
    )


def _patient(table: Table) -> Patient:
    age = table.number("age_months")
    if age is not None and age < 0:
        raise table.wrong("age_months", "must not be negative")
    found = Patient(
        species=table.word("species", Species),
        weight_g=table.needed_number("weight_g", above=0),
        name=table.text("name", ""),
        sex=table.optional_word("sex", Sex) or Sex.UNKNOWN,
        age_months=age,
        cautions=frozenset(table.words("cautions", Caution)),
    )
    table.done()
    return found


def _hours(table: Table) -> OwnerHours:
    zone = _zone(table)
    if not table.has("owner_hours"):
        return OwnerHours(zone)
    inner = table.table("owner_hours")
    wakes, sleeps = inner.clock("wakes"), inner.clock("sleeps")
    if wakes == sleeps:
        raise inner.wrong("sleeps", "is the same as wakes")
    away = tuple(_away(each) for each in inner.tables("away"))
    inner.done()
    return OwnerHours(zone, wakes, sleeps, away)


def _zone(table: Table) -> ZoneInfo:
    name = table.text("time_zone")
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # not found, not a name, a folder of zones
        raise table.wrong("time_zone", f"{name!r} is not a time zone such as Europe/London") from None


def _away(table: Table) -> Away:
    if not table.has("days"):
        raise table.wrong("days", "is missing")
    days = table.texts("days")
    for day in days:
        if day not in WEEKDAYS:
            raise table.wrong("days", f"must be of {', '.join(WEEKDAYS)}")
    found = Away(frozenset(WEEKDAYS.index(day) for day in days), table.clock("from"), table.clock("to"))
    if found.starts == found.ends:
        raise table.wrong("to", "is the same as from")
    table.done()
    return found


def _refuse_never_there(hours: OwnerHours, home: dt.datetime) -> None:
    try:
        hours.next_there(home)
    except NeverThere as fault:
        raise BadCase("$.owner_hours.away", str(fault)) from None


def _before_home(table: Table, key: str, home: dt.datetime) -> dt.datetime | None:
    found = table.optional_moment(key)
    if found is not None and found > home:
        raise table.wrong(key, "is after the discharge")
    return found


def _vet_said(table: Table) -> VetSaid:
    found = VetSaid(table.moment("at"), table.moment("look_again_at"))
    table.done()
    if found.look_again_at <= found.at:
        raise table.wrong("look_again_at", "is not after the vet spoke")
    return found


def _observation(table: Table, case: Case) -> Observation:
    found = observation_in(table)
    if found.at < case.surgery_ended_at:
        raise table.wrong("at", "is before the end of surgery")
    if found.weight_g is not None:
        times_off = Decimal(str(found.weight_g)) / Decimal(str(case.patient.weight_g))
        if times_off > FAR_OFF or times_off * FAR_OFF < 1:
            raise table.wrong("weight_g", f"is more than {FAR_OFF} times off the weight at discharge")
    return found
