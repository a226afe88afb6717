"""How an owner or a carer is reached from now on."""

from __future__ import annotations

from django import forms

from followup.forms.fields import PhoneField
from followup.services.mend_address import Addresses


class AddressForm(forms.Form):
    """E-mail and numbers of somebody on record."""

    email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "This is not an e-mail address."},
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    mobile = PhoneField(label="Mobile", mobile=True)
    landline = PhoneField(label="Landline")

    def addresses(self) -> Addresses:
        """As they were typed. Only after `is_valid`."""
        return Addresses(**self.cleaned_data)
