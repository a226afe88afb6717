"""What was given in the clinic, and what goes home."""

from __future__ import annotations

import datetime as dt

from django import forms

from followup.domain.dosing import MARKS
from followup.domain.terms import ClinicRoute, Form, Formulation
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


NEEDED = {
    Form.LIQUID: (
        ("mg_per_kg", "Write mg per kg of body weight and dose."),
        ("mg_per_ml", "Write the strength on the bottle."),
    ),
    Form.TABLET: (
        ("mg_per_kg", "Write mg per kg of body weight and dose."),
        ("mg_per_tablet", "Write the mg in one tablet."),
    ),
    Form.FIXED: (("fixed_amount", "Write how much is given each time."), ("fixed_unit", "Choose the unit.")),
}
"""What each form of medicine cannot do without; what belongs to another form is left out."""


class HomeForm(forms.Form):
    """One medicine that the vet sends home; an empty row is no medicine."""

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
    form = forms.ChoiceField(
        label="Form",
        required=False,
        choices=[("liquid", "liquid"), ("tablet", "tablet"), ("fixed", "a fixed amount")],
    )
    route = forms.ChoiceField(
        label="Given",
        required=False,
        choices=[("po", "by mouth"), ("cheek", "into the cheek"), ("eye", "eye"), ("ear", "ear"), ("skin", "skin")],
    )
    mg_per_tablet = AmountField(label="Tablet, mg")
    tablet_parts = forms.TypedChoiceField(
        label="Tablet can be broken",
        required=False,
        coerce=int,
        empty_value=None,
        choices=[("", "into halves"), (1, "not at all"), (2, "into halves"), (4, "into quarters")],
    )
    fixed_amount = AmountField(label="Fixed amount")
    fixed_unit = forms.ChoiceField(
        label="Unit",
        required=False,
        choices=[("", "choose"), ("ml", "ml"), ("drop", "drops"), ("tablet", "tablets"), ("g", "g")],
    )
    MAIN = ("drug", "mg_per_kg", "first_mg_per_kg", "every_hours", "days", "mg_per_ml", "syringe_ml", "prescribed_by")
    """Shown at once; the rest is for what is no liquid by mouth."""

    def main_fields(self) -> list[forms.BoundField]:
        """What nearly every medicine needs."""
        return [*(self[name] for name in self.MAIN), self["off_label_explained"]]

    def other_fields(self) -> list[forms.BoundField]:
        """Tablets, fixed amounts, other ways to give it."""
        return [self[name] for name in self.fields if name not in (*self.MAIN, "off_label_explained")]

    @property
    def is_unusual(self) -> bool:
        """Whether something other than a liquid by mouth was written, so that it must be seen."""
        usual = {"form": "liquid", "route": "po"}
        return any((field.value() or "") not in ("", usual.get(field.name)) for field in self.other_fields())

    def clean(self) -> None:
        """A medicine has its amount, interval, days, strength and vet."""
        known = self.cleaned_data
        if not known.get("drug"):
            if known.get("mg_per_kg") or known.get("mg_per_ml") or known.get("fixed_amount"):
                self.add_error("drug", "Write which medicine it is.")
            return
        for name, words in (
            *NEEDED[Form(known.get("form") or Form.LIQUID)],
            ("every_hours", "Write the hours between doses."),
            ("days", "Write for how many days at home."),
            ("prescribed_by", "Write which vet prescribed it."),
        ):
            if not known.get(name) and name not in self.errors:
                self.add_error(name, words)

    def facts(self) -> Json:
        """One item of `home_medication`; empty when the row is."""
        known = {key: value for key, value in self.cleaned_data.items() if value not in ("", None)}
        if not known.get("drug"):
            return {}
        mine = {name for name, _ in NEEDED[Form(known.get("form") or Form.LIQUID)]}
        foreign = {name for needed in NEEDED.values() for name, _ in needed} - mine
        if "syringe_ml" in known:
            known["syringe_ml"] = float(known["syringe_ml"])
        return {key: value for key, value in known.items() if key not in foreign}


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
