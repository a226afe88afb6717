"""The enrolment page as one thing: its parts, what they say together, and the recovery that comes of it."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from typing import TypeVar

from django.forms import Form
from django.http import QueryDict
from django.utils import timezone

from clinic.models import Owner, Practice
from followup.domain.terms import FollowUpError
from followup.forms.medicines import (
    GIVEN_ROWS,
    HOME_ROWS,
    NOTHING,
    PRESCRIBED,
    PROPOSE,
    UNKNOWN,
    GivenForm,
    HomeForm,
    MedicinesForm,
)
from followup.forms.operation import CardForm, OperationForm
from followup.forms.people import CONSENTS, CarerForm, ConsentForm, OwnerForm, PatientForm
from followup.models import Plan
from followup.services.draft import NewRecovery

Json = dict[str, object]
F = TypeVar("F", bound=Form)
ROW = re.compile(r"^\$\.(given_in_clinic|home_medication)\[(\d+)\](?:\.(\w+))?$")
FIELD = re.compile(r"^(?:\$\.)?(?:(discharge|patient|owner_hours)\.)?(\w+)$")


class Enrolment:
    """Every form of the page. `checked` False: what was typed is shown again, and nothing is said about it yet."""

    def __init__(self, practice: Practice, typed: QueryDict, *, owner: Owner | None, checked: bool) -> None:
        """`typed` is empty for a fresh page; `owner` is one on record, or None for a new one."""
        self.practice, self.owner, self.checked = practice, owner, checked
        self._typed = typed
        self.new_owner = self._form(OwnerForm, "owner", time_zone=practice.time_zone)
        self.carer = self._form(CarerForm, "carer")
        self.consents = self._form(ConsentForm, "consent", agrees=_agreed(owner))
        self.patient = self._form(PatientForm, "patient")
        self.patient.offer(list(owner.patients.filter(died_at__isnull=True)) if owner is not None else [])
        self.operation = self._form(OperationForm, "op")
        self.card = self._form(CardForm, "card")
        self.medicines = self._form(MedicinesForm, "medicines")
        self.given = [self._form(GivenForm, f"given{index}") for index in range(GIVEN_ROWS)]
        self.home = [self._form(HomeForm, f"home{index}") for index in range(HOME_ROWS)]
        self.already: Plan | None = None
        self.faults: list[str] = []

    def forms(self) -> Iterator[Form]:
        """The forms that count: a new owner's only while none on record was chosen."""
        if self.owner is None:
            yield self.new_owner
        yield from (self.carer, self.consents, self.patient, self.operation, self.card, self.medicines)
        yield from self.given
        yield from self.home

    def is_valid(self, now: dt.datetime) -> bool:
        """Every part by itself, then what they say together."""
        with timezone.override(self.practice.zone):
            for each in self.forms():
                each.full_clean()
        self.operation.not_after(now)
        self.operation.ask_about_weight(self._species(), self.last_weight())
        for row in self.given:
            row.before(self.operation.home_at())
        self.medicines.agree_with(given=_any(self.given), home=_any(self.home))
        return not any(each.errors for each in self.forms())

    def last_weight(self) -> float | None:
        """Grams at the weighing before, of a patient on record."""
        patient = self.patient.on_record()
        last = patient.weights.order_by("at", "pk").last() if patient is not None else None
        return None if last is None else last.grams

    def recovery(self, key: str) -> NewRecovery:
        """What is enrolled. Only after `is_valid`."""
        owner = self.owner or self.new_owner.owner()
        return NewRecovery(
            practice=self.practice,
            owner=owner,
            patient=self.patient.patient(),
            facts=self._facts(),
            key=key,
            consents=self.consents.consents(),
            carer=self.carer.carer(owner),
            carer_is_second=self.carer.is_second,
        )

    def place(self, fault: FollowUpError) -> None:
        """Put a refusal where its field is; at the top when there is no such field."""
        said = str(fault).removeprefix(f"{fault.field}: ")
        form, name = self._place_of(fault.field)
        if form is None or name not in form.fields:
            self.faults.append(said)
        else:
            form.add_error(name, said if said[:1].isupper() else f"This {said}.")

    def _place_of(self, path: str) -> tuple[Form | None, str]:
        """The form and field that a JSON path into the case, or the name of a field, stands for."""
        row, field = ROW.match(path), FIELD.match(path)
        if row is not None:
            rows: list[GivenForm] | list[HomeForm] = self.given if row[1] == "given_in_clinic" else self.home
            filled = [each for each in rows if each.cleaned_data.get("drug")]
            return filled[int(row[2])], row[3] or "drug"
        if field is None:
            return None, ""
        part, name = field[1], field[2]
        if part == "patient" and name != "weight_g":
            return self.patient, name
        others: Mapping[str, Form] = {"discharge": self.card, "owner_hours": self.new_owner}
        return others.get(part, self.operation), name

    def _facts(self) -> Json:
        known = self.operation.facts()
        grams, cautions = self.operation.cleaned_data["weight_g"], self.patient.cleaned_data["cautions"]
        known["patient"] = {"weight_g": grams} | ({"cautions": cautions} if cautions else {})
        known["discharge"] = self.card.facts()
        given, home = self.medicines.cleaned_data["given"], self.medicines.cleaned_data["home"]
        if given != UNKNOWN:
            known["given_in_clinic"] = [] if given == NOTHING else [row.facts() for row in self.given if row.facts()]
        if home != PROPOSE:
            known["home_medication"] = [row.facts() for row in self.home if row.facts()] if home == PRESCRIBED else []
        return known

    def _species(self) -> str:
        patient = self.patient.on_record()
        return patient.species if patient is not None else self.patient.cleaned_data.get("species", "")

    def _form(self, kind: type[F], prefix: str, **initial: object) -> F:
        if self.checked:
            return kind(self._typed, prefix=prefix)
        return kind(prefix=prefix, initial={**initial, **_as_typed(kind, prefix, self._typed)})


def _as_typed(kind: type[Form], prefix: str, typed: QueryDict) -> Json:
    """What was typed so far, to be shown again unjudged."""
    if not any(name.startswith(f"{prefix}-") for name in typed):
        return {}
    fields = kind.base_fields.items()
    return {name: field.widget.value_from_datadict(typed, {}, f"{prefix}-{name}") for name, field in fields}


def _agreed(owner: Owner | None) -> list[str]:
    return [] if owner is None else [kind.value for kind, _ in CONSENTS if owner.agrees(kind)]


def _any(rows: list[GivenForm] | list[HomeForm]) -> bool:
    """Whether something was written in any row, rightly or not."""
    return any(row.data.get(row.add_prefix("drug"), "").strip() for row in rows)
