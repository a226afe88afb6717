"""Who it is about: the owner, a carer, and the patient; each on record, or new."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings

from clinic.models import Consent, Owner, Patient
from clinic.models.practice import SPECIES
from followup.domain.terms import Caution
from followup.forms.fields import PhoneField, text
from followup.services.draft import SLEEPS, WAKES, NewOwner, NewPatient

NEW = "new"
CONSENTS = (
    (Consent.Kind.TO_BE_CONTACTED, "to be written to. Without it, check-ins are calls from the desk"),
    (Consent.Kind.PHOTOS, "to photos being kept"),
    (Consent.Kind.OFF_LABEL_USE, "to medicine off its label, after it was explained"),
    (Consent.Kind.WAKE_ME_AT_NIGHT, "to be woken at night, in an emergency only"),
)


class ClockForm(forms.Form):
    """How somebody lives: the zone, and when he is awake."""

    time_zone = text("Time zone", required=True, length=64)
    wakes = forms.TimeField(label="Wakes at", initial=WAKES, widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    sleeps = forms.TimeField(
        label="Goes to sleep at", initial=SLEEPS, widget=forms.TimeInput({"type": "time"}, "%H:%M")
    )

    def clean_time_zone(self) -> str:
        """A zone of the tz database."""
        name = str(self.cleaned_data["time_zone"]).strip()
        try:
            ZoneInfo(name)
        except (KeyError, ValueError, OSError):
            raise forms.ValidationError(f"{name} is not a time zone such as Europe/London.") from None
        return name

    def clean_sleeps(self) -> dt.time:
        """Not at the moment of waking."""
        sleeps: dt.time = self.cleaned_data["sleeps"]
        if sleeps == self.cleaned_data.get("wakes"):
            raise forms.ValidationError("This is the same as waking.")
        return sleeps


class OwnerForm(ClockForm):
    """A new owner. Not asked for when one on record was chosen."""

    name = text("Name", required=True, length=200)
    mobile = PhoneField(label="Mobile", mobile=True)
    email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "This is not an e-mail address."},
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    landline = PhoneField(label="Landline")
    language = forms.ChoiceField(label="Language", choices=settings.LANGUAGES)
    field_order = ("name", "mobile", "email", "landline", "language", "time_zone", "wakes", "sleeps")

    def clean(self) -> None:
        """Somebody must be reachable in some way."""
        if not self.errors and not any(self.cleaned_data.get(each) for each in ("mobile", "email", "landline")):
            self.add_error("mobile", "Write a mobile, an e-mail address or a landline: there is no way to reach them.")

    def owner(self) -> NewOwner:
        """The person as an enrolment takes it."""
        return NewOwner(**self.cleaned_data)


class CarerForm(forms.Form):
    """Somebody who looks after the patient beside the owner, or in the owner's place. May stay empty."""

    name = text("Name", length=200)
    mobile = PhoneField(label="Mobile", mobile=True)
    email = forms.EmailField(
        label="E-mail", required=False, error_messages={"invalid": "This is not an e-mail address."}
    )
    part = forms.ChoiceField(
        label="Is written to",
        choices=[("second", "when the owner is silent"), ("first", "in place of the owner")],
    )

    def clean(self) -> None:
        """All or nothing."""
        known = self.cleaned_data
        if (known.get("mobile") or known.get("email")) and not known.get("name"):
            self.add_error("name", "Write the carer's name.")
        if known.get("name") and not self.errors and not (known.get("mobile") or known.get("email")):
            self.add_error("mobile", "Write a mobile or an e-mail address of the carer.")

    def carer(self, owner: Owner | NewOwner) -> NewOwner | None:
        """The person, who lives by the owner's clock; None when the form stayed empty."""
        known = self.cleaned_data
        if not known["name"]:
            return None
        return NewOwner(
            known["name"],
            mobile=known["mobile"],
            email=known["email"],
            language=owner.language,
            time_zone=owner.time_zone,
            wakes=owner.wakes,
            sleeps=owner.sleeps,
        )

    @property
    def is_second(self) -> bool:
        """Whether the carer is only written to when the owner is silent."""
        return bool(self.cleaned_data["part"] == "second")


class ConsentForm(forms.Form):
    """What the owner agrees to."""

    agrees = forms.MultipleChoiceField(
        label="The owner agrees",
        required=False,
        choices=[(kind.value, words) for kind, words in CONSENTS],
        widget=forms.CheckboxSelectMultiple,
    )

    def consents(self) -> dict[str, bool]:
        """Each thing asked about, with a yes or a no."""
        return {kind.value: kind.value in self.cleaned_data["agrees"] for kind, _ in CONSENTS}


class PatientForm(forms.Form):
    """One of the owner's patients, or a new one."""

    chosen = forms.ChoiceField(label="Patient", required=False, widget=forms.RadioSelect)
    name = text("Name", length=80)
    species = forms.ChoiceField(label="Species", required=False, choices=[("", "choose"), *SPECIES])
    sex = forms.ChoiceField(label="Sex", required=False, choices=Patient.Sex.choices, initial=Patient.Sex.UNKNOWN)
    born_on = forms.DateField(
        label="Born on",
        required=False,
        help_text="about is enough",
        widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"),
        error_messages={"invalid": "Write a day."},
    )
    cautions = forms.MultipleChoiceField(
        label="Caution with painkillers",
        required=False,
        choices=[(each.value, each.value.replace("_", " ")) for each in Caution],
        widget=forms.CheckboxSelectMultiple,
    )

    def offer(self, patients: list[Patient]) -> None:
        """Let these be chosen from."""
        field = self.fields["chosen"]
        known = [(str(each.pk), _with_last_weight(each)) for each in patients]
        if isinstance(field, forms.ChoiceField):
            field.choices = [*known, (NEW, "another patient, new here")]
        self.known = {str(each.pk): each for each in patients}

    def clean(self) -> None:
        """One on record, or name and species of a new one."""
        if self.on_record() is not None:
            return
        if self.known and self.cleaned_data.get("chosen") != NEW and not self.cleaned_data.get("name"):
            self.add_error("chosen", "Choose the patient.")
            return
        if not self.cleaned_data.get("name"):
            self.add_error("name", "Write the patient's name.")
        if not self.cleaned_data.get("species"):
            self.add_error("species", "Choose the species.")

    def on_record(self) -> Patient | None:
        """The patient that was chosen from the owner's."""
        return self.known.get(self.cleaned_data.get("chosen", ""))

    def patient(self) -> Patient | NewPatient:
        """The patient as an enrolment takes it."""
        found = self.on_record()
        if found is not None:
            return found
        known = self.cleaned_data
        return NewPatient(known["name"], known["species"], known["sex"] or Patient.Sex.UNKNOWN, known["born_on"])


def _with_last_weight(patient: Patient) -> str:
    """Who it is, and the last weight, so that a slip of the new one is seen while it is written."""
    said = f"{patient} ({patient.get_species_display()})"
    last = patient.weights.order_by("at", "pk").last()
    return said if last is None else f"{said}, last weight {last.grams} g on {last.at:%d.%m.%Y}"
