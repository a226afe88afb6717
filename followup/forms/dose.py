"""What became of a dose, as an owner's page or a member of staff sends it."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from followup.domain.hours import OwnerHours
from followup.domain.told import CLOCK, told_by
from followup.domain.told_dose import Told
from followup.forms.fields import AmountField

Json = dict[str, object]


class DoseForm(forms.Form):
    """One thing told of one dose. Amounts are taken as far as they are known: nothing missing stops a mishap."""

    outcome = forms.ChoiceField(
        choices=[(each.value, each.value) for each in Told],
        error_messages={"required": gettext_lazy("Say what became of the dose, then send.")},
    )
    given_at = forms.CharField(required=False, max_length=5)
    ml = AmountField(label="ml")
    mg_per_ml = AmountField(label="mg/ml")
    what = forms.CharField(required=False, max_length=200)
    words = forms.CharField(required=False)
    final = forms.BooleanField(required=False)
    use_required_attribute = False

    MEASURED: ClassVar = {"ml": (Told.TOO_MUCH, Told.TWICE, Told.WRONG_BOTTLE), "mg_per_ml": (Told.WRONG_BOTTLE,)}
    """Which amounts belong to which tale; others are left out."""

    def clean_given_at(self) -> str:
        """A clock time, or nothing for "just now"."""
        typed: str = self.cleaned_data["given_at"].strip()
        if typed and not CLOCK.match(typed):
            raise forms.ValidationError(str(_("Type the time like 14:30, or leave it empty.")))
        return typed

    @property
    def told(self) -> Told:
        """What was chosen. Only after `is_valid`."""
        return Told(self.cleaned_data["outcome"])

    @property
    def fault(self) -> str:
        """The first thing that is wrong, for the top of the page."""
        return next((str(errors[0]) for errors in self.errors.values() if errors), "")

    def as_told(
        self, dose: int, hours: OwnerHours, *, now: dt.datetime, since: dt.datetime, late: bool = False
    ) -> Json:
        """As a reply keeps it: `{"dose": {…}}`. `late`: it was told at `now`, and a phone has kept it since then."""
        known = self.cleaned_data
        found: Json = {"id": dose, "outcome": known["outcome"]}
        when = told_by(known["given_at"], now, hours, since=since) if known["given_at"] else None
        if when is not None and when.told is not None and self.told is Told.GIVEN:
            found["given_at"] = when.told.latest.isoformat()
        elif late and self.told is Told.GIVEN:
            found["given_at"] = now.isoformat()
        for name, tales in self.MEASURED.items():
            if known[name] is not None and self.told in tales:
                found[name] = f"{known[name]:g}"
        if known["what"].strip() and self.told is Told.OTHER_MEDICINE:
            found["what"] = known["what"].strip()
        return {"dose": found}
