"""Texts filled in for the plans that they speak of, in the reader's language. `{link}` stays until it is sent."""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import phonenumbers
from django.utils.translation import gettext, gettext_lazy, override

from clinic.models import Practice
from followup.domain.own_words import fill_in, in_full, is_sound
from followup.domain.sms import plain
from followup.domain.wording import LINK, Text
from followup.models import Plan, PracticeText

NO_PROVIDER = gettext_lazy("the vet on duty near you")
"""Whom to phone where a practice has named nobody for the species: better than a gap in the sentence."""
LEFT_TO_RIGHT = "\u200e"
FIELDS = ("subject", "body", "caution", "short", "short_caution")
NAMES = ("patients", "practice", "phone_name", "patient", "owner", "carer", "vet")
"""Words that are somebody's name: never written otherwise, also not to keep a text message short."""


@dataclass(frozen=True)
class Slot:
    """One text of one practice in one language: its own words, or ours."""

    practice: Practice
    ours: Text
    language: str

    def row(self) -> PracticeText | None:
        """The practice's own words; None: ours are sent."""
        rows = PracticeText.objects.of(self.practice, self.language).select_related("changed_by")
        return rows.filter(key=self.ours.key).first() if self.ours.key else None


def fill(text: Text, *, of: Practice, language: str, **words: str) -> Text:
    """The text in `language` in the words of this practice where it has its own, else in ours, filled in.

    Subject, body and text message, the cautions among them. A line break in a name makes no second line of a subject.
    """
    return filled(in_place_of(text, Slot(of, text, language).row()), language=language, **words)


def in_place_of(ours: Text, row: PracticeText | None) -> Text:
    """Ours with the words of this row; ours itself where they cannot be sent: a placeholder that is known no more."""
    if row is None:
        return ours
    own = in_full(Text(row.subject, row.body, short=row.short), ours)
    return own if is_sound(own, ours) else ours


def filled(text: Text, *, language: str, **words: str) -> Text:
    """These words in `language`, filled in. What is nobody's own is looked up in the catalogue of the language."""
    words = {"link": LINK, **words}
    names = [words[name] for name in NAMES if name in words]
    with override(language):
        said = {name: fill_in(gettext(getattr(text, name)), words) if getattr(text, name) else "" for name in FIELDS}
    return Text(
        subject=" ".join(said["subject"].split()),
        body="\n\n".join(filter(None, [said["body"], said["caution"]])),
        short=plain(" ".join(filter(None, [said["short"], said["short_caution"]])), keep=names),
        key=text.key,
    )


def words_of(plans: Sequence[Plan]) -> dict[str, str]:
    """What any text about these plans may say: who, and which numbers answer."""
    practice = plans[0].practice
    provider = practice.provider_for(plans[0].patient.species)
    return {
        "patients": names_of(plans),
        "practice": practice.name,
        "phone": read_aloud(str(practice.phone)),
        "provider_phone": read_aloud(str(provider.phone)) if provider is not None else str(NO_PROVIDER),
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
