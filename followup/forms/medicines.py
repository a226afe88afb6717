"""What was given in the clinic, and what goes home."""

from __future__ import annotations

import datetime as dt

from django import forms

from followup.domain.dosing import MARKS
from followup.domain.terms import ClinicRoute, Formulation
from followup.forms.fields import AmountField, MomentField, choice, text

Json = dict[str, object]
GIVEN_ROWS, HOME_ROWS = 3, 2
UNKNOWN, NOTHING, THESE = "unknown", "nothing", "these"
PROPOSE, NONE, PRESCRIBED = "propose", "none", "prescribed"


class GivenForm(forms.Form):
    """One drug given in the clinic; an empty row is no drug."""

    drug = text("Drug", length=60, suggest="drugs")
    mg_per_kg = AmountField(label="mg/kg")
    route = choice("Route", ClinicRoute)
    at = MomentField(label="At")
    formulation = forms.ChoiceField(
        label="Lasts",
        required=False,
        choices=[(Formulation.STANDARD.value, "as usual"), ("24_h", "24 hours"), ("slow_release", "slow release")],
    )

    def clean(self) -> None:
        """A drug has a time, and a time has a drug."""
        known = self.cleaned_data
        if known.get("drug") and not known.get("at") and "at" not in self.errors:
            self.add_error("at", "Write when it was given.")
        if not known.get("drug") and (known.get("mg_per_kg") or known.get("at")):
            self.add_error("drug", "Write which drug it was.")

    def before(self, home: dt.datetime | None) -> None:
        """What was given in the clinic was given before the patient went home."""
        at = self.cleaned_data.get("at")
        if home is not None and at is not None and at > home:
            self.add_error("at", "This is after the patient goes home.")

    def facts(self) -> Json:
        """One item of `given_in_clinic`; empty when the row is."""
        known = {key: value for key, value in self.cleaned_data.items() if value not in ("", None)}
        return known | {"at": known["at"].isoformat()} if known.get("drug") else {}


class HomeForm(forms.Form):
    """One liquid that the vet sends home; an empty row is no medicine."""

    drug = text("Drug", length=60, suggest="drugs")
    mg_per_kg = AmountField(label="mg/kg and dose")
    first_mg_per_kg = AmountField(label="First dose, mg/kg, where it differs")
    every_hours = AmountField(label="Every … hours")
    days = forms.IntegerField(
        label="For … days at home",
        required=False,
        min_value=1,
        max_value=60,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "size": 4}),
        error_messages={"invalid": "Write whole days."},
    )
    mg_per_ml = AmountField(label="Strength, mg/ml")
    syringe_ml = forms.ChoiceField(
        label="Syringe",
        required=False,
        choices=[("", "chosen by the volume"), *((f"{size:f}", f"{size:f} ml") for size in MARKS)],
    )
    prescribed_by = text("Prescribed by (vet)", suggest="vets")
    off_label_explained = forms.BooleanField(label="Off the label, and this was explained", required=False)

    def clean(self) -> None:
        """A medicine has its amount, interval, days, strength and vet."""
        known = self.cleaned_data
        if not known.get("drug"):
            if known.get("mg_per_kg") or known.get("mg_per_ml"):
                self.add_error("drug", "Write which medicine it is.")
            return
        for name, words in (
            ("mg_per_kg", "Write mg per kg of body weight and dose."),
            ("every_hours", "Write the hours between doses."),
            ("days", "Write for how many days at home."),
            ("mg_per_ml", "Write the strength on the bottle."),
            ("prescribed_by", "Write which vet prescribed it."),
        ):
            if not known.get(name) and name not in self.errors:
                self.add_error(name, words)

    def facts(self) -> Json:
        """One item of `home_medication`; empty when the row is."""
        known = {key: value for key, value in self.cleaned_data.items() if value not in ("", None)}
        if "syringe_ml" in known:
            known["syringe_ml"] = float(known["syringe_ml"])
        return known if known.get("drug") else {}


class MedicinesForm(forms.Form):
    """Whether anything is known of the clinic's drugs, and who decides what goes home."""

    given = forms.ChoiceField(
        label="Given in the clinic",
        choices=[(UNKNOWN, "not known"), (NOTHING, "nothing"), (THESE, "these")],
        initial=THESE,
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether something was given."},
    )
    home = forms.ChoiceField(
        label="Medicine at home",
        choices=[
            (PRESCRIBED, "the vet prescribed"),
            (PROPOSE, "propose one, for a vet to confirm"),
            (NONE, "none goes home"),
        ],
        initial=PRESCRIBED,
        widget=forms.RadioSelect,
        error_messages={"required": "Say what goes home."},
    )

    def agree_with(self, *, given: bool, home: bool) -> None:
        """Rows that are filled in and the words above them say the same."""
        self._agree("given", THESE, rows=given, empty="Write what was given, or say that it is not known.")
        self._agree("home", PRESCRIBED, rows=home, empty="Write the medicine, or say that none was prescribed.")

    def _agree(self, name: str, listed: str, *, rows: bool, empty: str) -> None:
        said = self.cleaned_data.get(name)
        if said == listed and not rows:
            self.add_error(name, empty)
        if said and said != listed and rows:
            self.add_error(name, "This does not fit with the drug that is written below.")
