"""Fields that a front desk fills in: phone numbers, moments, and words with an honest "not known"."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from django import forms
from django.conf import settings

from clinic.phones import NotAPhone, read_phone

NOT_KNOWN = "not known"


class PhoneField(forms.CharField):
    """A phone number, read as of the practice's country when it has no code; E.164 or empty."""

    def __init__(self, *, label: str, mobile: bool = False) -> None:
        """`mobile`: a landline is refused here, since it cannot get a text message."""
        kind = forms.TextInput(attrs={"type": "tel", "autocomplete": "off"})
        super().__init__(label=label, required=False, max_length=40, widget=kind)
        self.mobile = mobile

    def clean(self, value: object) -> str:
        """The number as E.164. Raises ValidationError."""
        written = str(super().clean(value) or "").strip()
        if not written:
            return ""
        try:
            found = read_phone(written, settings.PHONENUMBER_DEFAULT_REGION)
        except NotAPhone as not_a_phone:
            raise forms.ValidationError(str(not_a_phone)) from None
        if self.mobile and not found.is_mobile:
            raise forms.ValidationError(f"{written} is a landline: write it under landline. It gets calls, not texts.")
        return found.e164


class MomentField(forms.DateTimeField):
    """A day and a time on the practice's clock."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")

    def __init__(self, *, label: str, required: bool = False) -> None:
        """Optional unless said otherwise: unknown is allowed and shown."""
        super().__init__(
            label=label,
            required=required,
            error_messages={"required": "Write the day and the time.", "invalid": "Write a day and a time."},
        )


class AmountField(forms.FloatField):
    """A number above nothing, with a point or a comma; optional."""

    def __init__(self, *, label: str) -> None:
        """A text box, so that what was typed comes back as it was typed."""
        super().__init__(
            label=label,
            required=False,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 6}),
            error_messages={"invalid": "Write a number, without its unit: the field says which unit is meant."},
        )

    def clean(self, value: object) -> float | None:
        """The number. Raises ValidationError for what is none, or not above nothing."""
        found: float | None = super().clean(str(value).replace(",", ".") if value else None)
        if found is not None and found <= 0:
            raise forms.ValidationError("Write a number above 0.")
        return found


def words(of: Iterable[StrEnum], *, unknown: str = NOT_KNOWN) -> list[tuple[str, str]]:
    """The choices of a field whose answer may be unknown."""
    return [("", unknown), *((each.value, each.value.replace("_", " ")) for each in of)]


def choice(label: str, of: Iterable[StrEnum], *, unknown: str = NOT_KNOWN) -> forms.ChoiceField:
    """A list of words, unknown first."""
    return forms.ChoiceField(label=label, required=False, choices=words(of, unknown=unknown))


def text(label: str, *, required: bool = False, length: int = 120, suggest: str = "") -> forms.CharField:
    """One line of text. `suggest` names a list on the page to choose from, or to ignore."""
    attrs = {"autocomplete": "off"} | ({"list": suggest} if suggest else {})
    return forms.CharField(
        label=label,
        required=required,
        max_length=length,
        widget=forms.TextInput(attrs=attrs),
        error_messages={"required": "This is needed."},
    )
