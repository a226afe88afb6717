"""Someone who helps, as the owner names him."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from clinic.models import Owner
from followup.forms.fields import PhoneField
from followup.services.draft import NewOwner


class HelperForm(forms.Form):
    """A name, and how to reach him when it is urgent and the owner is silent."""

    name = forms.CharField(label=_("Name"), max_length=200, error_messages={"required": _("Write the name.")})
    mobile = PhoneField(label=str(_("Mobile")), mobile=True)
    email = forms.EmailField(
        label=_("E-mail"), required=False, error_messages={"invalid": _("This is not an e-mail address.")}
    )
    knows = forms.BooleanField(
        label=_("This person knows, and agrees to be written to in an emergency"),
        error_messages={"required": _("Ask first, please, and then tick this.")},
    )

    def clean(self) -> None:
        """Somebody must be reachable."""
        if not self.errors and not (self.cleaned_data.get("mobile") or self.cleaned_data.get("email")):
            self.add_error("mobile", _("Write a mobile or an e-mail address."))

    def helper(self, asks: Owner) -> NewOwner:
        """The person, who lives by the hours of whoever names him. Only after `is_valid`."""
        known = self.cleaned_data
        return NewOwner(
            known["name"].strip(),
            mobile=known["mobile"],
            email=known["email"],
            language=asks.language,
            time_zone=asks.time_zone,
            wakes=asks.wakes,
            sleeps=asks.sleeps,
        )
