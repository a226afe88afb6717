"""The page on which a patient goes home from a stay: when, how heavy, the card, what it had and now gets."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TypeVar

from django import forms
from django.http import QueryDict
from django.utils import timezone

from clinic.models import Practice
from followup.domain.case import Prescription
from followup.domain.plausible import weight_question
from followup.domain.terms import FollowUpError, Species
from followup.forms.enrolment import FIELD, ROW
from followup.forms.fields import AmountField, MomentField
from followup.forms.medicines import GIVEN_ROWS, HOME_ROWS, GivenForm, HomeForm
from followup.forms.operation import CardForm
from followup.services.home_again import Homecoming

Json = dict[str, object]
F = TypeVar("F", bound=forms.Form)


class GoingHomeForm(forms.Form):
    """When it goes home, what it weighs then, and what was seen of it in the clinic."""

    because = forms.CharField(
        label="What was done in the clinic", required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 2})
    )
    discharged_at = MomentField(label="Goes home", required=True)
    weight_g = AmountField(label="Weight on going home, in grams")
    right = forms.CharField(required=False, widget=forms.HiddenInput)
    last_ate_before_discharge_at = MomentField(label="Last ate")
    last_faeces_before_discharge_at = MomentField(label="Last droppings")
    last_urine_before_discharge_at = MomentField(label="Last urine")
    question = ""
    TOLD = ("last_ate_before_discharge_at", "last_faeces_before_discharge_at", "last_urine_before_discharge_at")

    def agree(self, admitted_at: dt.datetime | None) -> None:
        """After the admission, with a weight and a reason; what was seen was seen before it goes home."""
        known, home = self.cleaned_data, self.cleaned_data.get("discharged_at")
        if not known.get("because", "").strip():
            self.add_error("because", "Write what was done in the clinic.")
        if known.get("weight_g") is None and "weight_g" not in self.errors:
            self.add_error("weight_g", "Write the weight: doses and later changes are reckoned from it.")
        if home is not None and admitted_at is not None and home < admitted_at:
            self.add_error("discharged_at", "This is before it was admitted.")
        for name in self.TOLD:
            if home is not None and known.get(name) is not None and known[name] > home:
                self.add_error(name, "This is after the patient goes home.")

    def ask_about_weight(self, species: str, last: float) -> None:
        """Ask again about a weight that this species can hardly have, or that is far off the last one."""
        grams = self.cleaned_data.get("weight_g")
        asked = weight_question(Species(species), grams, last=last) if grams is not None else None
        if grams is None or asked is None or not asked.text:
            return
        if not (asked.may_be_right and self.cleaned_data["right"] == f"{grams:g}"):
            self.question = f"{grams:g}" if asked.may_be_right else ""
            self.add_error("weight_g", asked.text)


class HomecomingPage:
    """Every form of the page. `checked` False: a fresh page, or what was typed shown again unjudged."""

    def __init__(self, practice: Practice, before: list[Prescription], typed: QueryDict, *, checked: bool) -> None:
        """`before`: the medicines that were in force, to start from."""
        self.practice, self.checked, self._typed = practice, checked, typed
        self.going = self._form(GoingHomeForm, "going")
        self.card = self._form(CardForm, "card")
        self.given = [self._form(GivenForm, f"given{index}") for index in range(GIVEN_ROWS)]
        self.home = [
            self._form(HomeForm, f"home{index}", **_as_initial(before, index))
            for index in range(max(HOME_ROWS, len(before)))
        ]
        self.faults: list[str] = []

    def parts(self) -> Iterator[forms.Form]:
        """All of them."""
        yield from (self.going, self.card, *self.given, *self.home)

    def is_valid(self, species: str, *, last_weight: float, admitted_at: dt.datetime | None) -> bool:
        """Every part by itself, then what they say together."""
        with timezone.override(self.practice.zone):
            for each in self.parts():
                each.full_clean()
        self.going.agree(admitted_at)
        self.going.ask_about_weight(species, last_weight)
        for row in self.given:
            row.before(self.going.cleaned_data.get("discharged_at"))
        return not any(each.errors for each in self.parts())

    def homecoming(self) -> Homecoming:
        """What is known. Only after `is_valid`."""
        known = self.going.cleaned_data
        times = {name: known[name].isoformat() for name in GoingHomeForm.TOLD if known[name] is not None}
        facts: Json = {
            "discharged_at": known["discharged_at"].isoformat(),
            "patient": {"weight_g": known["weight_g"]},
            "discharge": self.card.facts(),
            "home_medication": [row.facts() for row in self.home if row.facts()],
            **times,
        }
        given = [row.facts() for row in self.given if row.facts()]
        return Homecoming(facts=facts | ({"given_in_clinic": given} if given else {}), because=known["because"])

    def place(self, fault: FollowUpError) -> None:
        """Put a refusal where its field is; at the top when there is no such field."""
        said = str(fault).removeprefix(f"{fault.field}: ")
        form, name = self._place_of(fault.field)
        if form is None or name not in form.fields:
            self.faults.append(said)
        else:
            form.add_error(name, said if said[:1].isupper() else f"This {said}.")

    def _place_of(self, path: str) -> tuple[forms.Form | None, str]:
        row = ROW.match(path)
        if row and row[1] == "home_medication":
            written = [each for each in self.home if each.facts()]
            return (written[int(row[2])] if int(row[2]) < len(written) else None), row[3] or "drug"
        field = FIELD.match(path)
        if not field:
            return None, ""
        return (self.card if field[1] == "discharge" else self.going), field[2]

    def _form(self, kind: type[F], prefix: str, **initial: object) -> F:
        if self.checked or any(name.startswith(f"{prefix}-") for name in self._typed):
            return kind(self._typed, prefix=prefix)
        return kind(prefix=prefix, initial=initial)


def _as_initial(before: list[Prescription], index: int) -> Json:
    if index >= len(before):
        return {}
    known = {name: getattr(before[index], name, None) for name in HomeForm.base_fields}
    return {name: value for name, value in known.items() if value is not None}
