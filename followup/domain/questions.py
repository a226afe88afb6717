"""Which question comes next in a check-in, and what it opens. The words are in question_words and wound_words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from followup.domain.question_words import BODY, Asked, Kind
from followup.domain.terms import Closure
from followup.domain.wound_words import GLANCE, WORSE, WOUND

NOT_SURE, SKIPPED = "not_sure", "skipped"
"""Two answers that any question may get: asked and not known · not answered."""

QUESTIONS: dict[str, Asked] = {asked.key: asked for asked in (*BODY, *WOUND)}
"""Every question that can be put to an owner, by observation key."""

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

OPENS: dict[tuple[str, str], tuple[str, ...]] = {
    (GLANCE, WORSE): WHOLE_WOUND,
    ("appetite", "less"): ("drinking",),
    ("appetite", "a_few_bites"): ("belly", "pain_signs", "drinking"),
    ("appetite", "none"): ("belly", "pain_signs", "drinking"),
    ("demeanour", "dull"): ("warmth", "belly", "pain_signs", "balance"),
    ("demeanour", "collapsed"): ("warmth", "belly"),
    ("faeces", "none"): ("belly",),
    ("faeces", "diarrhoea"): ("rear_end",),
    ("urine", "none"): ("last_urine_at",),
    ("worried", "very"): ("pain_signs",),
}
"""What an answer that is not good opens. Source: clinical defaults, 7, says that it does; which ones is derived (D)."""

CORE = ("demeanour", "appetite", "last_ate_at", "faeces", "last_faeces_at", GLANCE, "worried", "text")
"""Asked when an owner writes without being asked. Source: clinical defaults, 7."""

Given = Mapping[str, Sequence[str]]
"""Answers so far, by observation key, as the owner chose them."""


def to_ask(planned: Sequence[str], given: Given, *, closure: Closure | None) -> tuple[str, ...]:
    """Every question of a check-in in order, with what the answers so far have opened right behind them."""
    asked: list[str] = []
    for key in planned:
        _put(asked, key)
        for answer in given.get(key, ()):
            for opened in OPENS.get((key, answer), ()):
                _put(asked, opened)
    unwanted = {"wound.edges"} if closure is Closure.LEFT_OPEN else set()
    return tuple(key for key in _words_last(asked) if key not in unwanted)


def next_question(planned: Sequence[str], given: Given, *, closure: Closure | None) -> str | None:
    """The first question without an answer; None when all have one."""
    return next((key for key in to_ask(planned, given, closure=closure) if key not in given), None)


def question_before(key: str, planned: Sequence[str], given: Given, *, closure: Closure | None) -> str | None:
    """Where "back" leads."""
    asked = to_ask(planned, given, closure=closure)
    place = asked.index(key) if key in asked else len(asked)
    return asked[place - 1] if place > 0 else None


def accepts(key: str, values: Sequence[str]) -> bool:
    """Whether `values` are answers to this question at all; a time, a weight and words are read elsewhere."""
    asked = QUESTIONS.get(key)
    if asked is None or not values:
        return False
    if asked.kind not in {Kind.CHOICE, Kind.SEVERAL}:
        return True
    known = {value for value, _words in asked.answers} | {SKIPPED}
    known |= {NOT_SURE} if asked.unsure is not None else set()
    known |= {"none"} if asked.kind is Kind.SEVERAL else set()
    return set(values) <= known and (asked.kind is Kind.SEVERAL or len(values) == 1)


def _put(asked: list[str], key: str) -> None:
    if key in QUESTIONS and key not in asked:
        asked.append(key)


def _words_last(asked: Sequence[str]) -> list[str]:
    """Worry and free words end every check-in, whatever was opened."""
    last = [key for key in ("worried", "text") if key in asked]
    return [key for key in asked if key not in last] + last
