"""What was answered unfavourably is asked again at the next check-in. Source: clinical defaults, 4.

Mild answers count too: a rule looks at the hour at which the animal was seen, so what is normal on day 1 must be looked
at again on day 2.
"""

from __future__ import annotations

from collections.abc import Iterator

from followup.domain.answer_rules import answer_findings
from followup.domain.answers import ANSWERS, Question, Unsure
from followup.domain.questions import WHEN_OF
from followup.domain.recovery import Recovery
from followup.domain.terms import Concern
from followup.domain.unsure import standing_unsure

_ALSO_GOOD = {
    Question.STITCHES: frozenset({"cannot_tell", "none_to_see"}),
    Question.COLLAR: frozenset({"on", "none"}),
    Question.COMPANY: frozenset({"alone_and_calling"}),
}
"""Favourable answers beside the first of each question, which is the mildest."""

_UNSURE = (Unsure.APPETITE, Unsure.FAECES, Unsure.URINE, Unsure.DEMEANOUR, Unsure.BREATHING)
"""What "I am not sure" does not settle (6.7); drinking, gums, weight and stitches give nothing by themselves."""


def asked_again(known: Recovery) -> tuple[str, ...]:
    """The keys to ask again, each once."""
    keys: list[str] = []
    for key in _unfavourable(known):
        keys += [key, WHEN_OF[key]] if key in WHEN_OF else [key]
    return tuple(dict.fromkeys(keys))


def _unfavourable(known: Recovery) -> Iterator[str]:
    for question in Question:
        if any(not _is_good(question, seen.answer) for seen in known.standing(question)):
            yield question.value
    looked = known.pain_signs()
    if looked is not None and looked[0]:
        yield "pain_signs"
    vomited = known.vomiting()
    if vomited is not None and vomited[0]:
        yield "vomits_since_last"
    if any(each.concern is Concern.WEIGHT for each in answer_findings(known)):
        yield "weight_g"
    yield from (topic.value for topic in _UNSURE if standing_unsure(known, topic))


def _is_good(question: Question, answer: str) -> bool:
    return answer == ANSWERS[question][0] or answer in _ALSO_GOOD.get(question, frozenset())
