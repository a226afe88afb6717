"""Texts filled in for the plans that they speak of, in the reader's language. `{link}` stays until it is sent."""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Sequence

import phonenumbers
from django.utils.translation import gettext, override

from followup.domain.wording import LINK, Text
from followup.models import Plan

NO_PROVIDER = "-"
LEFT_TO_RIGHT = "\u200e"


def fill(text: Text, *, language: str, **words: str) -> Text:
    """The text in `language`, its placeholders filled in."""
    with override(language):
        filled = {"link": LINK, **words}
        return Text(gettext(text.subject).format_map(filled), gettext(text.body).format_map(filled))


def words_of(plans: Sequence[Plan]) -> dict[str, str]:
    """What any text about these plans may say: who, and which numbers answer."""
    practice = plans[0].practice
    provider = practice.provider_for(plans[0].patient.species)
    return {
        "patients": names_of(plans),
        "practice": practice.name,
        "phone": read_aloud(str(practice.phone)),
        "provider_phone": read_aloud(str(provider.phone)) if provider is not None else NO_PROVIDER,
    }


def names_of(plans: Sequence[Plan]) -> str:
    """The patients' names, each once: "Pip", "Pip and Clover"."""
    names = list(dict.fromkeys(plan.patient.name for plan in plans))
    joined = gettext("{first} and {last}")
    return names[0] if len(names) == 1 else joined.format(first=", ".join(names[:-1]), last=names[-1])


def read_aloud(phone: str) -> str:
    """A number as people of its country read it; as it stands when it cannot be read."""
    try:
        number = phonenumbers.parse(phone)
    except phonenumbers.NumberParseException:
        return phone
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.NATIONAL)


def after_a_name(name: str, number: str) -> str:
    """A number to stand behind a name: groups of digits change places behind one written from right to left."""
    right_to_left = any(unicodedata.bidirectional(letter) in {"R", "AL"} for letter in name)
    return f"{LEFT_TO_RIGHT}{number}" if right_to_left else number


def clock_of(moment: dt.datetime, plan: Plan) -> str:
    """A clock time where the practice is."""
    return f"{moment.astimezone(plan.practice.zone):%H:%M}"
