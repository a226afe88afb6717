"""The page on which a running plan is changed: each medicine goes on, ends or changes; new ones; a new weight; why."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

from django import forms
from django.http import QueryDict

from followup.domain.case import Prescription
from followup.domain.plausible import weight_question
from followup.domain.terms import FollowUpError, Species
from followup.forms.fields import AmountField
from followup.forms.medicines import HomeForm
from followup.services.revise import Revision

KEEP, STOP, CHANGE = "keep", "stop", "change"
NEW_ROWS = 2
ROW = re.compile(r"^\$\.home_medication\[(\d+)\](?:\.(\w+))?$")
F = TypeVar("F", bound=forms.Form)


class WhyForm(forms.Form):
    """Why, and what it weighs. `right` holds the weight that was asked about and found to be right."""

    because = forms.CharField(
        label="Why the plan changes",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    weight_g = AmountField(label="Weighed anew, in grams: doses to come are reckoned from it")
    corrects = forms.BooleanField(
        label="The weight at discharge was written down wrongly: this is what it was", required=False
    )
    right = forms.CharField(required=False, widget=forms.HiddenInput)
    question = ""

    def ask_about_weight(self, species: str, last: float) -> None:
        """Ask again about a weight that this species can hardly have, or that is far off the last one."""
        grams = self.cleaned_data.get("weight_g")
        if grams is None:
            return
        asked = weight_question(Species(species), grams, last=last)
        if asked.text and not (asked.may_be_right and self.cleaned_data["right"] == f"{grams:g}"):
            self.question = f"{grams:g}" if asked.may_be_right else ""
            self.add_error("weight_g", asked.text)


class GoesOnForm(forms.Form):
    """What becomes of one medicine of the plan. `doses`: how many are still to come, if not as planned."""

    what = forms.ChoiceField(
        label="This medicine",
        choices=[(KEEP, "goes on"), (STOP, "is stopped"), (CHANGE, "changes, as written below")],
        initial=KEEP,
        widget=forms.RadioSelect,
    )
    doses = forms.IntegerField(
        label="Doses still to come",
        required=False,
        min_value=1,
        max_value=180,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "size": 4}),
        error_messages={"invalid": "Write a whole number."},
    )


@dataclass(frozen=True)
class Row:
    """One medicine of the plan: how many doses are to come, what becomes of it, and how it is if it changes."""

    drug: str
    to_come: int
    goes_on: GoesOnForm
    changed: HomeForm


class RevisionPage:
    """Every form of the page. `checked` False: a fresh page, or what was typed shown again unjudged."""

    def __init__(self, known: Mapping[str, tuple[Prescription, int]], typed: QueryDict, *, checked: bool) -> None:
        """`known`: the medicines in force with the number of their doses to come."""
        self.checked, self._typed = checked, typed
        self.why = self._form(WhyForm, "why")
        self.rows = [self._row(index, drug, *each) for index, (drug, each) in enumerate(known.items())]
        self.new = [self._form(HomeForm, f"new{index}") for index in range(NEW_ROWS)]
        self.faults: list[str] = []

    def is_valid(self, species: str, last_weight: float) -> bool:
        """Each part by itself, and whether anything is to change at all."""
        used = list(self._used())
        for form in used:
            form.full_clean()
        self.why.ask_about_weight(species, last_weight)
        if not self.why.cleaned_data.get("because", "").strip():
            self.why.add_error("because", "Write why the plan changes.")
        return not any(form.errors for form in used) and not self.faults

    def revision(self, version: int) -> Revision:
        """What is to change. Only after `is_valid`."""
        keeps = {row.drug: self._doses(row) for row in self.rows if row.goes_on.cleaned_data["what"] == KEEP}
        return Revision(
            because=self.why.cleaned_data["because"],
            version=version,
            keeps=keeps,
            medicines=tuple(form.facts() for form in self._written()),
            weight_g=self.why.cleaned_data["weight_g"],
            corrects=self.why.cleaned_data["corrects"],
        )

    def place(self, fault: FollowUpError) -> None:
        """Put a refusal where its field is; at the top when there is no such field."""
        said = str(fault).removeprefix(f"{fault.field}: ")
        found = ROW.match(fault.field)
        written = list(self._written())
        if found and int(found[1]) < len(written) and (found[2] or "drug") in HomeForm.base_fields:
            written[int(found[1])].add_error(found[2] or "drug", said)
        elif fault.field == "because":
            self.why.add_error("because", said)
        else:
            self.faults.append(said)

    def _doses(self, row: Row) -> int | None:
        asked: int | None = row.goes_on.cleaned_data["doses"]
        return None if asked == row.to_come else asked

    def _used(self) -> Iterator[forms.Form]:
        yield self.why
        for row in self.rows:
            yield row.goes_on
            if self._typed.get(row.goes_on.add_prefix("what")) == CHANGE:
                yield row.changed
        yield from self.new

    def _written(self) -> Iterator[HomeForm]:
        """The changed and new medicines, in the order in which a revision has them."""
        for row in self.rows:
            if row.goes_on.cleaned_data.get("what") == CHANGE:
                yield row.changed
        yield from (form for form in self.new if form.cleaned_data.get("drug"))

    def _row(self, index: int, drug: str, asked: Prescription, to_come: int) -> Row:
        initial = {
            name: getattr(asked, name) for name in HomeForm.base_fields if getattr(asked, name, None) is not None
        }
        return Row(
            drug,
            to_come,
            self._form(GoesOnForm, f"med{index}", doses=to_come),
            self._form(HomeForm, f"med{index}as", **initial),
        )

    def _form(self, kind: type[F], prefix: str, **initial: object) -> F:
        if self.checked or any(name.startswith(f"{prefix}-") for name in self._typed):
            return kind(self._typed, prefix=prefix)
        return kind(prefix=prefix, initial=initial)
