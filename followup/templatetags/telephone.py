"""Telephone numbers as people read them."""

from __future__ import annotations

import phonenumbers
from django import template

register = template.Library()


@register.filter
def readable(number: object) -> str:
    """ "+44 1632 960200" for "+441632960200"; anything else as it is."""
    text = str(number)
    try:
        parsed = phonenumbers.parse(text)
    except phonenumbers.NumberParseException:
        return text
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.INTERNATIONAL)
