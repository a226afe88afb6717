"""What is typed on the page of the rota: a shift, and dates that differ from the week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import cast

from django import forms
from django.http import QueryDict

from clinic.models import Membership, OnCallShift, Practice
from followup.domain.hours import DAY
from followup.domain.rota import MOST_WEEKS, Written
from followup.domain.terms import FollowUpError
from followup.forms.fields import text
from followup.services.keep_rota import NewDays, NewShifts
from followup.services.rota_page import CALLED, shift_shown

WAYS = (
    ("email,sms", "e-mail, then text message"),
    ("sms,email", "text message, then e-mail"),
    ("email", "e-mail only"),
    ("sms", "text message only"),
)


def _date(label: str, *, required: bool = True) -> forms.DateField:
    errors = {"required": "Write a date.", "invalid": "Write a date like 24 December 2026, or choose one."}
    kind = forms.DateInput({"type": "date"}, "%Y-%m-%d")
    return forms.DateField(label=label, required=required, widget=kind, error_messages=errors)


def _clock(label: str, *, required: bool = True) -> forms.TimeField:
    errors = {"required": "Write a time.", "invalid": "Write a time like 20:00."}
    kind = forms.TimeInput({"type": "time"}, "%H:%M")
    return forms.TimeField(label=label, required=required, widget=kind, error_messages=errors)


class RotaForm(forms.Form):
    """A form whose refusals by a service land at their field."""

    @property
    def checked(self) -> bool:
        """Whether something was typed."""
        return self.is_bound

    def refuse(self, fault: FollowUpError) -> None:
        """Say it at the field that it belongs to."""
        self.add_error(fault.field if fault.field in self.fields else None, str(fault))


class ShiftForm(RotaForm):
    """Who, from when to when by the clock, in which place, by which ways, and for how many weeks."""

    who = forms.ChoiceField(label="Who", error_messages={"required": "Choose who.", "invalid_choice": "Choose who."})
    day = _date("First day")
    starts = _clock("From")
    ends = _clock("To")
    last_day = _date("Last day (empty: the same night or day)", required=False)
    position = forms.TypedChoiceField(
        label="Called", coerce=int, choices=[(number, words) for number, words in CALLED.items()], initial=1
    )
    ways = forms.ChoiceField(label="Alerted by", choices=WAYS, initial=WAYS[0][0])
    weeks = forms.IntegerField(
        label="For how many weeks, on the same day",
        initial=1,
        min_value=1,
        max_value=MOST_WEEKS,
        error_messages={
            "required": "Write 1 for this week alone.",
            "invalid": "Write a number of weeks.",
            "min_value": "Write 1 for this week alone.",
            "max_value": f"At most {MOST_WEEKS} weeks at once.",
        },
    )

    def __init__(
        self, people: Sequence[Membership], typed: QueryDict | None = None, *, first_day: dt.date | None = None
    ) -> None:
        """`people`: who works here. `first_day`: what stands in its field before anything is typed."""
        super().__init__(typed, initial={"day": first_day})
        self.people = {str(each.staff_id): each for each in people}
        names = [(key, f"{each.staff.name}, {each.get_role_display()}") for key, each in self.people.items()]
        cast("forms.ChoiceField", self.fields["who"]).choices = [("", "choose"), *names]

    def shifts(self) -> NewShifts:
        """What to add. Only after `is_valid`. To before from is the next day."""
        known = self.cleaned_data
        overnight = known["ends"] <= known["starts"]
        last: dt.date = known["last_day"] or (known["day"] + DAY if overnight else known["day"])
        return NewShifts(
            who=self.people[known["who"]].staff,
            written=Written(known["day"], known["starts"], last, known["ends"]),
            position=known["position"],
            media=known["ways"].split(","),
            weeks=known["weeks"],
        )


class DaysForm(RotaForm):
    """Dates on which the practice is closed, or open at other hours."""

    prefix = "days"  # it stands on one page with a shift, which has times too
    first = _date("Date")
    last = _date("To (empty: one day)", required=False)
    starts = _clock("Open from (empty: closed all day)", required=False)
    ends = _clock("Open to", required=False)
    note = text("Why, for example a holiday")

    def clean(self) -> None:
        """Both times, or neither."""
        known = self.cleaned_data
        for missing, other in (("starts", "ends"), ("ends", "starts")):
            if known.get(missing) is None and known.get(other) is not None and missing not in self.errors:
                self.add_error(missing, "Write both times, or neither: then it is closed all day.")

    def days(self) -> NewDays:
        """What to keep. Only after `is_valid`."""
        known = self.cleaned_data
        hours = (known["starts"], known["ends"]) if known["starts"] is not None else None
        return NewDays(known["first"], known["last"] or known["first"], hours, known["note"])


class HandOverForm(RotaForm):
    """Who takes a shift: somebody by himself, or in exchange for one of his own."""

    to = forms.ChoiceField(label="Who takes it", error_messages={"required": "Choose who, or which shift."})

    def __init__(
        self,
        shift: OnCallShift,
        people: Sequence[Membership],
        others: Sequence[OnCallShift],
        practice: Practice,
        typed: QueryDict | None = None,
    ) -> None:  # fmt: skip
        """`others`: shifts to come, of anybody."""
        super().__init__(typed)
        self.people = {f"person:{each.staff_id}": each.staff for each in people if each.staff_id != shift.staff_id}
        self.others = {f"shift:{each.pk}": each for each in others if each.staff_id != shift.staff_id}
        swaps = [
            (key, f"{shown.who}, {shown.when}")
            for key, each in self.others.items()
            for shown in [shift_shown(each, practice)]
        ]
        takes = [(key, staff.name) for key, staff in self.people.items()]
        cast("forms.ChoiceField", self.fields["to"]).choices = [
            ("", "choose"),
            ("Takes it", takes),
            ("Swaps with", swaps),
        ]
