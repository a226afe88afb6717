"""Which question comes next in a check-in, and what it opens. The words are in question_words and wound_words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from followup.domain.case import Case
from followup.domain.question_words import BODY, Asked, Kind
from followup.domain.suits import suits
from followup.domain.told import DID_NOT_SEE, LONGER_AGO
from followup.domain.why_silent import ASKED as WHY
from followup.domain.why_silent import WHY_SILENT
from followup.domain.wound_words import GLANCE, WORSE, WOUND

NOT_SURE, SKIPPED = "not_sure", "skipped"
"""Two answers that any question may get: asked and not known · not answered."""

QUESTIONS: dict[str, Asked] = {asked.key: asked for asked in (*BODY, *WOUND, WHY)}
"""Every question that can be put to an owner, by observation key; the last one is about a silence."""

WHOLE_WOUND = (
    "wound.edges",
    "wound.bleeding",
    "wound.swelling",
    "wound.discharge",
    "wound.smell",
    "wound.redness",
    "wound.interference",
)
WHEN_OF = {"appetite": "last_ate_at", "faeces": "last_faeces_at", "urine": "last_urine_at"}
"""Which "when" belongs to which sign: the two make one answer."""

_GUT = ("belly", "pain_signs", "drinking", "mouth", "vomits_since_last")
_ILL = ("breathing", "gums", "warmth", "belly", "pain_signs", "balance", "seizure", "vomits_since_last")
_WET = ("last_urine_at", "drinking", "belly")

OPENS: dict[tuple[str, str], tuple[str, ...]] = {
    (GLANCE, WORSE): (*WHOLE_WOUND, "stitches", "scrotum_or_groin", "vulva", "collar", "company"),
    (GLANCE, NOT_SURE): ("wound.bleeding",),
    ("appetite", "less"): ("pain_signs", "drinking", "mouth", "vomits_since_last"),
    ("appetite", "a_few_bites"): (*_GUT, "collar"),
    ("appetite", "none"): (*_GUT, "collar"),
    ("appetite", NOT_SURE): ("pain_signs",),
    ("last_ate_at", LONGER_AGO): _GUT,
    ("last_ate_at", DID_NOT_SEE): ("pain_signs",),
    ("demeanour", "quiet"): ("pain_signs",),
    ("demeanour", "dull"): _ILL,
    ("demeanour", "collapsed"): _ILL,
    ("demeanour", NOT_SURE): ("breathing", "pain_signs"),
    ("faeces", "fewer"): ("pain_signs", "drinking"),
    ("faeces", "soft"): ("rear_end", "drinking"),
    ("faeces", "night_droppings_left"): ("rear_end", "pain_signs"),
    ("faeces", "diarrhoea"): ("rear_end", "drinking", "belly", "vomits_since_last"),
    ("faeces", "none"): ("belly", "pain_signs", "vomits_since_last"),
    ("faeces", NOT_SURE): ("pain_signs",),
    ("last_faeces_at", LONGER_AGO): ("belly", "pain_signs"),
    ("last_faeces_at", DID_NOT_SEE): ("pain_signs",),
    ("worried", "a_little"): ("breathing", "pain_signs"),
    ("worried", "very"): (*_ILL, "mouth", "rear_end"),
    ("urine", "little"): _WET,
    ("urine", "straining"): _WET,
    ("urine", "bloody"): ("vulva", "drinking"),
    ("urine", "none"): _WET,
    ("urine", NOT_SURE): ("last_urine_at",),
    ("breathing", "fast"): ("gums", "warmth"),
    ("breathing", "laboured"): ("gums", "warmth"),
    ("warmth", "cool_ears_feet"): ("gums",),
    ("warmth", "cold_all_over"): ("gums", "breathing"),
    ("wound.bleeding", "spots"): ("gums",),
    ("wound.bleeding", "steady_drip"): ("gums", "breathing", "warmth"),
    ("vulva", "bleeding"): ("gums", "warmth", "belly"),
    ("belly", "swollen"): ("vomits_since_last", "gums"),
    ("belly", "tight_or_drum"): ("vomits_since_last", "gums"),
}
"""What an answer that is not good opens; opened answers open more. Source: clinical defaults, 7, says that it does.

Which ones is derived (D): those that the pictures, limits and advice of section 4 would ask for next.
"""

LAST = ("worried", "text", WHY_SILENT)
"""What ends every check-in, whatever was opened."""
CHOICE_AND_WORDS = 2
"""Values of a question that takes words beside its answer."""

CORE = ("demeanour", "appetite", "last_ate_at", "faeces", "last_faeces_at", GLANCE, "worried", "text")
"""Asked when an owner writes without being asked. Source: clinical defaults, 7."""

Given = Mapping[str, Sequence[str]]
"""Answers so far, by observation key, as the owner chose them."""


def to_ask(planned: Sequence[str], given: Given, case: Case) -> tuple[str, ...]:
    """Every question of a check-in in order, with what the answers so far have opened right behind them.

    What does not suit the patient is left out. After a dental operation the mouth takes the wound's place. Worry and
    free words come last, and then why nothing was heard.
    """
    last = [key for key in LAST if key in planned]
    asked: list[str] = []
    for key in (*(key for key in planned if key not in last), *last):
        _put(asked, "mouth" if key == GLANCE and not suits(key, case) else key, given, case)
    return tuple(asked)


def next_question(planned: Sequence[str], given: Given, case: Case) -> str | None:
    """The first question without an answer; None when all have one."""
    return next((key for key in to_ask(planned, given, case) if key not in given), None)


def question_before(key: str, planned: Sequence[str], given: Given, case: Case) -> str | None:
    """Where "back" leads."""
    asked = to_ask(planned, given, case)
    place = asked.index(key) if key in asked else len(asked)
    return asked[place - 1] if place > 0 else None


def accepts(key: str, values: Sequence[str]) -> bool:
    """Whether `values` are answers to this question at all; a time, a weight and words are read elsewhere."""
    asked = QUESTIONS.get(key)
    if asked is None or not values:
        return False
    if asked.kind not in {Kind.CHOICE, Kind.SEVERAL, Kind.REASON}:
        return True
    known = {value for value, _words in asked.answers} | {SKIPPED}
    known |= {NOT_SURE} if asked.unsure is not None else set()
    known |= {"none"} if asked.kind is Kind.SEVERAL else set()
    if asked.kind is Kind.REASON:
        return values[0] in known and len(values) <= CHOICE_AND_WORDS
    return set(values) <= known and (asked.kind is Kind.SEVERAL or len(values) == 1)


def _put(asked: list[str], key: str, given: Given, case: Case) -> None:
    """The question, and behind it what its answer opens."""
    if key not in QUESTIONS or key in asked or not suits(key, case):
        return
    asked.append(key)
    for answer in given.get(key, ()):
        for opened in OPENS.get((key, answer), ()):
            _put(asked, opened, given, case)
