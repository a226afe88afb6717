"""How an owner lives from now on: the zone, when he is awake, and when he is away from the animal."""

from __future__ import annotations

import datetime as dt

from django import forms
from django.http import QueryDict

from clinic.models import Owner
from followup.casefile.case_in import WEEKDAYS
from followup.forms.people import ClockForm
from followup.services.owner_moves import NewHours

AWAY_ROWS = 2
DAYS = (("mon", "Mon"), ("tue", "Tue"), ("wed", "Wed"), ("thu", "Thu"), ("fri", "Fri"), ("sat", "Sat"), ("sun", "Sun"))


class AwayForm(forms.Form):
    """Awake, but not with the animal, on some days of the week. An empty row is no absence."""

    days = forms.MultipleChoiceField(label="Days", required=False, choices=DAYS, widget=forms.CheckboxSelectMultiple)
    starts = forms.TimeField(label="From", required=False, widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    ends = forms.TimeField(label="To", required=False, widget=forms.TimeInput({"type": "time"}, "%H:%M"))

    def clean(self) -> None:
        """Days have both times, and times have days."""
        known = self.cleaned_data
        starts, ends = known.get("starts"), known.get("ends")
        if known.get("days") and (starts is None or ends is None):
            self.add_error("starts", "Write from when to when.")
        if not known.get("days") and (starts or ends):
            self.add_error("days", "Choose the days.")
        if starts is not None and starts == ends:
            self.add_error("ends", "This is the same as from.")

    def facts(self) -> dict[str, object]:
        """One absence in the shape of the case format; empty when the row is."""
        known = self.cleaned_data
        if not known["days"]:
            return {}
        return {"days": known["days"], "from": f"{known['starts']:%H:%M}", "to": f"{known['ends']:%H:%M}"}


class HoursPage:
    """Every form of the page."""

    def __init__(self, owner: Owner, typed: QueryDict | None) -> None:
        """`typed` None: as it is on record."""
        known = {"time_zone": owner.time_zone, "wakes": owner.wakes, "sleeps": owner.sleeps}
        self.clock = ClockForm(typed, prefix="clock", initial=known)
        self.away = [
            AwayForm(typed, prefix=f"away{index}", initial=_away(owner, index))
            for index in range(max(AWAY_ROWS, len(owner.away) + 1))
        ]
        self.checked = typed is not None
        self.faults: list[str] = []

    def is_valid(self) -> bool:
        """Every part by itself; what they say together is judged where it is kept."""
        return all([self.clock.is_valid(), *(row.is_valid() for row in self.away)])

    def hours(self) -> NewHours:
        """The hours. Only after `is_valid`."""
        known = self.clock.cleaned_data
        away = tuple(facts for row in self.away if (facts := row.facts()))
        return NewHours(known["time_zone"], known["wakes"], known["sleeps"], away)


def _away(owner: Owner, index: int) -> dict[str, object]:
    if index >= len(owner.away):
        return {}
    each = owner.away[index]
    days = [WEEKDAYS[day] if isinstance(day, int) else day for day in each.get("days", ())]
    return {"days": days, "starts": _clock(each["from"]), "ends": _clock(each["to"])}


def _clock(text: str) -> dt.time:
    return dt.time.fromisoformat(text)
