"""A weight that cannot be, asked again with a question and never converted. Source: clinical defaults, 14."""

from __future__ import annotations

from dataclasses import dataclass

from followup.domain.question_words import gettext_noop
from followup.domain.understood import grams

TOO_FAR = 1.5
"""This many times more or less than the last weight is asked about."""
GRAMS_IN_KG = 1000
_ = gettext_noop

NOT_A_NUMBER = _("Please type the weight as a number in grams, for example 905.")
NOT_PLAUSIBLE = _("%(typed)s would be %(grams)s g. We expect between %(least)s and %(most)s g.")
MEANT_KG = _("Did you mean %(meant)s g? Please type it again.")
FAR_OFF = _("That is very different from the last weight, %(last)s g. Is it right? Send it again to say yes.")


@dataclass(frozen=True)
class Doubt:
    """Why a weight is asked again: sentences with named placeholders. `may_stand`: sent once more, it is taken."""

    sentences: tuple[str, ...]
    words: dict[str, str]
    may_stand: bool = False


def doubt_about(typed: str, *, last_g: float, plausible: tuple[float, float]) -> Doubt | None:
    """What is odd about a typed weight; None when nothing is."""
    found = grams(typed)
    if found is None:
        return Doubt((NOT_A_NUMBER,), {})
    words = {"typed": typed.strip(), "grams": f"{found:g}", "last": f"{last_g:g}"}
    least, most = plausible
    if not least <= found <= most:
        words |= {"least": f"{least:g}", "most": f"{most:g}", "meant": f"{found * GRAMS_IN_KG:g}"}
        in_kg = least <= found * GRAMS_IN_KG <= most
        return Doubt((NOT_PLAUSIBLE, MEANT_KG) if in_kg else (NOT_PLAUSIBLE,), words)
    if max(found / last_g, last_g / found) > TOO_FAR:
        return Doubt((FAR_OFF,), words, may_stand=True)
    return None
