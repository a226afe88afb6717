"""What a front desk types on the enrolment page, as the browser posts it."""

from __future__ import annotations

from urllib.parse import urlencode

from django.http import QueryDict

FIELDS = {
    "owner-name": "Kim Example",
    "owner-mobile": "07700 900321",
    "owner-email": "",
    "owner-landline": "",
    "owner-language": "en",
    "owner-time_zone": "Europe/London",
    "owner-wakes": "07:00",
    "owner-sleeps": "22:00",
    "carer-part": "second",
    "consent-agrees": ["to_be_contacted", "photos"],
    "patient-chosen": "new",
    "patient-name": "Bean",
    "patient-species": "guinea_pig",
    "patient-sex": "male",
    "patient-born_on": "2024-07-10",
    "op-procedure": "castration",
    "op-surgery_ended_at": "2025-03-10T10:30",
    "op-discharged_at": "2025-03-10T16:30",
    "op-weight_g": "900",
    "op-last_ate_before_discharge_at": "2025-03-10T15:00",
    "op-last_faeces_before_discharge_at": "2025-03-10T14:00",
    "card-closure": "buried",
    "medicines-given": "these",
    "medicines-home": "prescribed",
    "given0-drug": "meloxicam",
    "given0-mg_per_kg": "0.2",
    "given0-route": "sc",
    "given0-at": "2025-03-10T10:00",
    "given0-formulation": "standard",
    "given1-formulation": "standard",
    "given2-formulation": "standard",
    "home0-drug": "meloxicam",
    "home0-mg_per_kg": "0.1",
    "home0-every_hours": "24",
    "home0-days": "2",
    "home0-mg_per_ml": "0.5",
    "home0-syringe_ml": "1",
    "home0-prescribed_by": "Vet of Elm Street Clinic",
    "home0-off_label_explained": "on",
}
"""A guinea pig castration of a new owner: clinical defaults 12, number 1."""
EMPTY_MEDICINE = [key.replace("-", "__") for key in FIELDS if key.startswith("home0-")]
"""The fields to empty when no medicine is written down."""


def typed(**changes: object) -> dict[str, object]:
    """The whole page; `op__weight_g="0.9"` types something else there, `None` leaves it out."""
    said = {key.replace("__", "-"): value for key, value in changes.items()}
    return {key: value for key, value in {**FIELDS, **said}.items() if value is not None}


def posted(**changes: object) -> QueryDict:
    """The same as Django reads it."""
    return QueryDict(urlencode(typed(**changes), doseq=True))
