"""A weight that cannot be, asked again with a question and never converted. Source: clinical defaults, 14."""

from __future__ import annotations

from dataclasses import dataclass

from followup.domain.question_words import gettext_noop
from followup.domain.understood import grams

TOO_FAR = 1.5
"""This many times more or less than the last weight is asked about."""
GRAMS_IN_KG, A_POINT = 1000, 10
_ = gettext_noop

NOT_A_NUMBER = _("Please type the weight as a number in grams, for example 905.")
NOT_PLAUSIBLE = _("%(typed)s would be %(grams)s g. We expect between %(least)s and %(most)s g.")
MEANT = _("Did you mean %(meant)s g? Please type it again.")
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
        words |= {"least": f"{least:g}", "most": f"{most:g}"}
        return Doubt(*_with_a_guess(NOT_PLAUSIBLE, found, words, last_g=last_g, plausible=plausible))
    if _apart(found, last_g) > TOO_FAR:
        return Doubt(*_with_a_guess(FAR_OFF, found, words, last_g=last_g, plausible=plausible), may_stand=True)
    return None


def _with_a_guess(
    sentence: str, found: float, words: dict[str, str], *, last_g: float, plausible: tuple[float, float]
) -> tuple[tuple[str, ...], dict[str, str]]:
    """With what may have been meant: kilograms, or a digit too many or too few; never taken without being typed."""
    least, most = plausible
    slips = (found * GRAMS_IN_KG, found * A_POINT, found / A_POINT)
    meant = next((each for each in slips if least <= each <= most and _apart(each, last_g) <= TOO_FAR), None)
    if meant is None and least <= slips[0] <= most:
        meant = slips[0]
    if meant is None:
        return (sentence,), words
    return (sentence, MEANT), words | {"meant": f"{meant:g}"}


def _apart(one: float, other: float) -> float:
    """How many times one is the other, the greater by the smaller."""
    return max(one / other, other / one)
