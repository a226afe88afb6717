"""What was done, when, how heavy the patient went home, and the discharge card."""

from __future__ import annotations

import datetime as dt

from django import forms

from followup.domain.answers import ANSWERS, Question
from followup.domain.plausible import weight_question
from followup.domain.terms import Approach, BloodLoss, Closure, Company, Procedure, RingOrTunic, Species
from followup.forms.fields import NOT_KNOWN, AmountField, MomentField, choice, text

Json = dict[str, object]
SOONEST_DAYS = 7
"""A discharge further ahead than this is a slip of the calendar."""
YES_NO = [("", NOT_KNOWN), ("yes", "yes"), ("no", "no")]


def yes_no(label: str) -> forms.ChoiceField:
    """Yes, no, or not known."""
    return forms.ChoiceField(label=label, required=False, choices=YES_NO)


class OperationForm(forms.Form):
    """Procedure, times and weight. `right` holds the weight that was asked about and found to be right."""

    procedure = forms.ChoiceField(
        label="Procedure",
        choices=[("", "choose"), *((each.value, each.value.replace("_", " ")) for each in Procedure)],
        error_messages={"required": "Choose the procedure."},
    )
    surgery_ended_at = MomentField(label="Surgery ended", required=True)
    discharged_at = MomentField(label="Goes home", required=True)
    weight_g = AmountField(label="Weight at discharge, in grams")
    right = forms.CharField(required=False, widget=forms.HiddenInput)
    last_ate_before_discharge_at = MomentField(label="Last ate")
    last_faeces_before_discharge_at = MomentField(label="Last droppings")
    last_urine_before_discharge_at = MomentField(label="Last urine")
    question = ""

    def clean_weight_g(self) -> float:
        """There is always a weight: every dose and every later change hangs on it."""
        grams: float | None = self.cleaned_data["weight_g"]
        if grams is None:
            raise forms.ValidationError("Write the weight: doses and later changes are reckoned from it.")
        return grams

    def not_after(self, now: dt.datetime) -> None:
        """The operation is over, and the discharge is after it and not far off."""
        ended, home = self.cleaned_data.get("surgery_ended_at"), self.cleaned_data.get("discharged_at")
        if ended is not None and ended > now:
            self.add_error("surgery_ended_at", "This is still to come: enrol when the operation is over.")
        if ended is not None and home is not None and home < ended:
            self.add_error("discharged_at", "This is before the end of surgery.")
        elif home is not None and home > now + dt.timedelta(days=SOONEST_DAYS):
            self.add_error("discharged_at", f"This is more than {SOONEST_DAYS} days ahead. Is the day right?")
        self._before_home(self.home_at())

    def home_at(self) -> dt.datetime | None:
        """When the patient goes home, where that is known and can be true."""
        return None if "discharged_at" in self.errors else self.cleaned_data.get("discharged_at")

    def _before_home(self, home: dt.datetime | None) -> None:
        for name in (
            "last_ate_before_discharge_at",
            "last_faeces_before_discharge_at",
            "last_urine_before_discharge_at",
        ):
            seen = self.cleaned_data.get(name)
            if home is not None and seen is not None and seen > home:
                self.add_error(name, "This is after the patient goes home.")

    def ask_about_weight(self, species: str, last: float | None) -> None:
        """Ask again about a weight that this species can hardly have, or that is far off the last one."""
        grams = self.cleaned_data.get("weight_g")
        if grams is None or not species:
            return
        question = weight_question(Species(species), grams, last=last)
        if question.text and not (question.may_be_right and self.cleaned_data["right"] == f"{grams:g}"):
            self.question = f"{grams:g}" if question.may_be_right else ""
            self.add_error("weight_g", question.text)

    def facts(self) -> Json:
        """The keys of the case format."""
        known = self.cleaned_data
        times = [name for name in known if name.endswith("_at") and known[name] is not None]
        return {"procedure": known["procedure"], **{name: known[name].isoformat() for name in times}}


class CardForm(forms.Form):
    """What the nurse wrote down in recovery. Unknown is allowed, and shown. Source: clinical defaults, 10."""

    fit_to_go_by = text("Fit to go home, says (vet)", suggest="vets")
    approach = choice("Approach", Approach)
    closure = choice("Closure", Closure)
    stitches_out_on = forms.DateField(
        label="Stitches out on",
        required=False,
        widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"),
        error_messages={"invalid": "Write a day."},
    )
    ring_or_tunic = choice("Ring or tunic", RingOrTunic)
    blood_loss = choice("Blood loss", BloodLoss)
    temperature_c = AmountField(label="Temperature, °C")
    appetite = forms.ChoiceField(
        label="Appetite in recovery",
        required=False,
        choices=[("", NOT_KNOWN), *((each, each.replace("_", " ")) for each in ANSWERS[Question.APPETITE])],
    )
    feeding_ml_per_day = AmountField(label="Recovery feed by the vet's plan, ml a day")
    night_plan = yes_no("The vet wrote a feeding plan for the nights")
    company = choice("Company at home", Company)
    home_scales = yes_no("Scales at home")

    def facts(self) -> Json:
        """The `discharge` of the case format; what is not known is left out."""
        known = {key: value for key, value in self.cleaned_data.items() if value not in ("", None)}
        for key in ("night_plan", "home_scales"):
            if key in known:
                known[key] = known[key] == "yes"
        if "stitches_out_on" in known:
            known["stitches_out_on"] = known["stitches_out_on"].isoformat()
        return known
