"""From a Case to its JSON, as a plan keeps it; `read_case` reads it back the same."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import fields
from enum import StrEnum

from followup.casefile.case_in import WEEKDAYS
from followup.casefile.refusals import moment_json
from followup.domain.case import Case, DischargeCard, GivenInClinic, Patient, Prescription
from followup.domain.hours import OwnerHours

Json = dict[str, object]


def case_json(case: Case) -> Json:
    """The JSON of a case; what is unknown is left out."""
    given, home = case.given_in_clinic, case.home_medication
    return _known(
        {
            "patient": _known(_record(case.patient)),
            "procedure": case.procedure.value,
            "surgery_ended_at": case.surgery_ended_at,
            "discharged_at": case.discharged_at,
            "time_zone": case.hours.zone.key,
            "owner_hours": _hours(case.hours),
            "jurisdiction": case.jurisdiction.value,
            "given_in_clinic": None if given is None else [_known(_record(each)) for each in given],
            "home_medication": None if home is None else [_prescription(each) for each in home],
            "last_ate_before_discharge_at": case.last_ate_before_discharge_at,
            "last_faeces_before_discharge_at": case.last_faeces_before_discharge_at,
            "last_urine_before_discharge_at": case.last_urine_before_discharge_at,
            "discharge": _known(_record(case.discharge)) or None,
            "vet_said": [_known({"at": each.at, "look_again_at": each.look_again_at}) for each in case.vet_said]
            or None,
        }
    )


def _record(record: Patient | GivenInClinic | DischargeCard | Prescription) -> Json:
    """A record's fields by their names, which are the format's; empty words are unknown."""
    found: Json = {each.name: getattr(record, each.name) for each in fields(record)}
    return {key: value for key, value in found.items() if value not in ("", frozenset())}


def _prescription(asked: Prescription) -> Json:
    return _known(_record(asked))


def _hours(hours: OwnerHours) -> Json:
    found: Json = {"wakes": f"{hours.wakes:%H:%M}", "sleeps": f"{hours.sleeps:%H:%M}"}
    if hours.away:
        found["away"] = [
            {
                "days": [WEEKDAYS[day] for day in sorted(away.days)],
                "from": f"{away.starts:%H:%M}",
                "to": f"{away.ends:%H:%M}",
            }
            for away in hours.away
        ]
    return found


def _known(values: Mapping[str, object]) -> Json:
    """Without what is None, and as JSON has it."""
    return {key: _plain(value) for key, value in values.items() if value is not None}


def _plain(value: object) -> object:
    if isinstance(value, dt.datetime):
        return moment_json(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return value.value
    return sorted(value) if isinstance(value, frozenset) else value
