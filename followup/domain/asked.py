"""Which questions one check-in puts, worst consequence first. Source: clinical defaults, 7."""

from __future__ import annotations

from followup.domain.case import Case
from followup.domain.check_in_times import AskAt
from followup.domain.course import Course, QuestionSet
from followup.domain.terms import RingOrTunic


def questions_of(ask_at: AskAt, case: Case, course: Course, *, first: bool) -> tuple[str, ...]:
    """The observation keys that are asked, each once. `first`: the first check-in at home."""
    fitting = [each for each in course.question_sets if _fits(each, ask_at, case, first=first)]
    instead = {question for each in fitting for question in each.instead_of}
    asked = {question for each in fitting for question in each.questions} - instead
    order = {question: index for index, question in enumerate(course.question_order)}
    return tuple(sorted(asked, key=lambda question: (order.get(question, len(order)), question)))


def _fits(each: QuestionSet, ask_at: AskAt, case: Case, *, first: bool) -> bool:
    if each.first_at_home and not first:
        return False
    return _moment_fits(each, ask_at) and _card_fits(each, case)


def _moment_fits(each: QuestionSet, ask_at: AskAt) -> bool:
    """Whether an entry that this check-in stands for is among the set's days and moments."""
    return any(
        (not each.days or ask.day in each.days) and (not each.kinds or ask.kind in each.kinds) for ask in ask_at.asks
    )


def _card_fits(each: QuestionSet, case: Case) -> bool:
    """Whether the discharge card asks for the set.

    What nobody wrote down counts as open, and as no scales.
    """
    card = case.discharge
    if each.home_scales and card.home_scales is not True:
        return False
    if each.ring_not_closed and card.ring_or_tunic is RingOrTunic.CLOSED:
        return False
    if each.closures and card.closure not in each.closures:
        return False
    return card.closure not in each.unless_closures
