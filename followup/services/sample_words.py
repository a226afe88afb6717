"""Words with which a text is shown before it is sent to anybody: an invented animal at this practice."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import override

from clinic.models import Practice
from followup.domain.advice import Answering, Call, Line
from followup.domain.terms import Level, Species
from followup.services.advice import action_words
from followup.services.advice_words import DISCLAIMER, HEADINGS
from followup.services.links import example_url
from followup.services.texts import NO_PROVIDER, read_aloud

ANIMAL, ANOTHER = "Hazelnut", "Pip"
SPECIES = Species.GUINEA_PIG
OF_SEVERAL = "of_several"
"""How the keys of texts about several animals end."""


def sample_words(practice: Practice, *, language: str) -> dict[str, str]:
    """What each placeholder becomes in the example, `{link}` among them. One query."""
    provider = practice.provider_for(SPECIES)
    line = Line(provider.name if provider else practice.name, str(provider.phone if provider else practice.phone))
    with override(language):
        action = action_words(Level.EMERGENCY, Call(Answering.PROVIDER, line))
        return {
            "patients": ANIMAL,
            "practice": practice.name,
            "phone": read_aloud(str(practice.phone)),
            "provider_phone": read_aloud(line.phone) if provider else str(NO_PROVIDER),
            "first": _("today at %(clock)s") % {"clock": "18:30"},
            "carer": "Robin Example",
            "vet": "Dr Robin Example",
            "day": "3",
            "doses": "meloxicam (0.5 mg/ml) 0.18 ml",
            "until": "14:30",
            "changes": _("%(drug)s: stop. Give no more of it.") % {"drug": "Meloxicam"},
            "heading": _(HEADINGS[Level.EMERGENCY]),
            "phone_name": line.name,
            "action": action % {"patient": ANIMAL, "who": line.name},
            "what_happened": _("Your answers are on the screen at %(practice)s now.") % {"practice": practice.name},
            "disclaimer": _(DISCLAIMER),
            "link": example_url(practice),
        }


def words_for(key: str, words: dict[str, str]) -> dict[str, str]:
    """The same for one text: those about several animals name two."""
    if not key.endswith(OF_SEVERAL):
        return words
    both = _("{first} and {last}").format(first=ANIMAL, last=ANOTHER)
    each = [f"{name}: meloxicam (0.5 mg/ml) {ml} ml" for name, ml in ((ANIMAL, "0.18"), (ANOTHER, "0.2"))]
    return {**words, "patients": both, "doses": ", ".join(each)}
