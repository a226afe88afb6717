"""What is looked for among the follow-ups of a practice."""

from __future__ import annotations

from django import forms

from clinic.models.practice import SPECIES
from followup.domain.terms import Level, Procedure
from followup.models import Plan
from followup.services.patient_search import Wanted

ANY = ("", "any")


class SearchForm(forms.Form):
    """All of it optional."""

    words = forms.CharField(
        label="Patient, owner, phone or e-mail",
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    species = forms.ChoiceField(label="Species", required=False, choices=[ANY, *SPECIES])
    procedure = forms.ChoiceField(
        label="Operation", required=False, choices=[ANY, *((p.value, p.value.replace("_", " ")) for p in Procedure)]
    )
    state = forms.ChoiceField(label="State", required=False, choices=[ANY, *Plan.State.choices])
    level = forms.TypedChoiceField(
        label="Level",
        required=False,
        coerce=int,
        empty_value=None,
        choices=[ANY, *((str(each.value), each.word.replace("_", " ")) for each in reversed(Level))],
    )
    since = forms.DateField(
        label="Operated from",
        required=False,
        error_messages={"invalid": "Write a day, such as 2026-11-25."},
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    until = forms.DateField(
        label="to",
        required=False,
        error_messages={"invalid": "Write a day, such as 2026-11-25."},
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def clean(self) -> None:
        """A span that holds no day finds nobody, and says so."""
        since, until = self.cleaned_data.get("since"), self.cleaned_data.get("until")
        if since and until and since > until:
            self.add_error("until", "This is before the first day.")

    def wanted(self) -> Wanted:
        """What to look for; a field that cannot be read narrows nothing, and says why."""
        known = self.cleaned_data if self.is_bound and (self.is_valid() or self.cleaned_data) else {}
        return Wanted(**{name: known[name] for name in self.fields if name in known})
