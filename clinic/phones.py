"""Telephone numbers as people write them, read into E.164."""

from __future__ import annotations

import re
from dataclasses import dataclass

import phonenumbers
from phonenumbers import PhoneNumberType

FOR_FICTION = re.compile(r"^\+44(7700900|1632960)\d{3}$")
"""Ranges that the United Kingdom's regulator keeps for drama. They ring nobody, and the tables know no type for them:
what a demo and a test must use. Mark M: Ofcom's list for television and radio drama."""
MOBILE_FOR_FICTION = "+447700900"
NO_TEXTS = frozenset(
    {
        PhoneNumberType.FIXED_LINE,
        PhoneNumberType.TOLL_FREE,
        PhoneNumberType.PREMIUM_RATE,
        PhoneNumberType.SHARED_COST,
        PhoneNumberType.UAN,
        PhoneNumberType.VOICEMAIL,
    }
)
"""Kinds of number that no text message reaches."""


class NotAPhone(Exception):
    """What was typed cannot be a telephone number; the message is a sentence for whoever typed it."""


@dataclass(frozen=True)
class ReadPhone:
    """A number in E.164. `warning` is empty, or a sentence to show beside it.

    `is_mobile` says whether text messages may be sent there: in countries whose numbers do not tell mobile from
    landline apart it is true.
    """

    e164: str
    warning: str
    is_mobile: bool


def read_phone(text: str, region: str) -> ReadPhone:
    """Read `text` as dialled inside `region` (two letters, as GB) unless it begins with + and a country code.

    Raises NotAPhone. An extension is refused and not cut off: messages and calls could not reach it.
    """
    written = text.strip()
    try:
        number = phonenumbers.parse(written, region)
    except phonenumbers.NumberParseException:
        raise NotAPhone(_no_phone(written)) from None
    if number.extension:
        raise NotAPhone(f"{written} has an extension. Write a number that can be called directly.")
    e164 = phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
    if FOR_FICTION.match(e164):
        return ReadPhone(e164, "This number is kept for fiction: it rings nobody.", e164.startswith(MOBILE_FOR_FICTION))
    if not phonenumbers.is_valid_number(number):
        raise NotAPhone(_no_phone(written))
    is_mobile = phonenumbers.number_type(number) not in NO_TEXTS
    return ReadPhone(e164, "" if is_mobile else "This is a landline: it gets calls, never text messages.", is_mobile)


def _no_phone(written: str) -> str:
    if not written:
        return "A phone number is needed."
    return f"{written} is not a phone number. Write it with its area code, or with + and the country."
