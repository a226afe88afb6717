"""What would have made a finding milder, from the rule's own data. Source: clinical defaults, 2 to 6.

Each condition is tried: the recovery with it is weighed by the same rules, and it is named only if the level falls.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import singledispatch

from followup.domain.answer_rules import answer_findings
from followup.domain.answers import ANSWERS, PainSign, Question
from followup.domain.clock_rules import clock_findings, window_at
from followup.domain.clocks import windows_of
from followup.domain.explanation import Found, Lower
from followup.domain.lower_by_code import READ, lower_by_code
from followup.domain.night import food_judged_at
from followup.domain.parts import PARTS
from followup.domain.pictures import picture_findings
from followup.domain.plain_words import asked, hours_words, pain_words
from followup.domain.recovery import Recovery, Reviewed
from followup.domain.rule_words import rule_of
from followup.domain.rules import (
    AnswerRule,
    ClockRule,
    PainRule,
    PictureRule,
    Rule,
    Step,
    UnsureRule,
    VomitRule,
    WeightRule,
)
from followup.domain.terms import Level, Sign
from followup.domain.verdict import Finding, worst
from followup.domain.what_if import (
    NO_PAIN,
    NO_VOMIT,
    Weigh,
    WhatIf,
    known_after,
    milder_answers,
    showing,
    that_lower,
    vomiting,
    well,
)


def lower_of(found: Found) -> tuple[Lower, ...]:
    """Every condition under which the finding would be milder; empty: nothing that is answered would."""
    rule = rule_of(found.known, found.finding.rule)
    return tuple(_lower(rule, found)) if rule is not None else lower_by_code(found)


@singledispatch
def _lower(_rule: Rule, _found: Found) -> Iterator[Lower]:
    """What is read otherwise: an owner's own words."""
    yield Lower(READ, Level.ON_TRACK)


@_lower.register
def _of_answers(rule: AnswerRule, found: Found) -> Iterator[Lower]:
    known, given = found.known, found.finding.level
    codes = {each.code for each in known.rules.answers if each.question is rule.question}

    def weigh(was: Recovery) -> Level:
        return _worst(answer_findings(was), codes)

    if rule.stays:
        yield from that_lower(known, [_reviewed(rule, found)], weigh, given)
        return
    stood = [answer for answer in ANSWERS[rule.question] if answer in rule.answers & _standing(known, rule)]
    if stood:
        yield from milder_answers(known, (rule.question, stood[0]), weigh, given)
    beside = [well(question, known) for question in _questions(known, rule) if question is not rule.question]
    vomits = [NO_VOMIT] if rule.or_vomiting and known.vomited() else []
    yield from that_lower(known, [*beside, *vomits], weigh, given)
    yield from _seen_otherwise(rule.steps, given)


def _standing(known: Recovery, rule: AnswerRule) -> frozenset[str]:
    return frozenset(seen.answer for seen in known.standing(rule.question))


def _questions(known: Recovery, rule: AnswerRule) -> tuple[Question, ...]:
    """The questions of the facts beside it that stand."""
    standing = [question for question, answer in sorted(rule.together_with) if known.stands(question, answer)]
    return tuple(dict.fromkeys(standing))


def _reviewed(rule: Rule, found: Found) -> WhatIf:
    review = Reviewed(rule.concern, found.now)
    return WhatIf("a person has reviewed it", lambda was: replace(was, reviews=(*was.reviews, review)))


@_lower.register
def _of_pain(rule: PainRule, found: Found) -> Iterator[Lower]:
    known, given = found.known, found.finding.level
    looked = known.pain_signs()
    shown = sorted(looked[0] & rule.signs) if looked is not None else []
    codes = {each.code for each in known.rules.pain if each.signs & rule.signs}
    others = looked[0] - rule.signs if looked is not None else frozenset()
    ifs = [_only(shown, many, others) for many in range(rule.at_least - 1, -1, -1)]
    yield from _descending(known, ifs, lambda was: _worst(answer_findings(was), codes), given)
    yield from _seen_otherwise(rule.steps, given)


def _only(shown: Sequence[PainSign], many: int, others: frozenset[PainSign]) -> WhatIf:
    words = f"only {many} of: {pain_words(shown)}" if many else f"none of: {pain_words(shown)}"
    return WhatIf(words, lambda was: showing(was, others | frozenset(shown[:many])))


@_lower.register
def _of_vomits(rule: VomitRule, found: Found) -> Iterator[Lower]:
    known, given = found.known, found.finding.level
    codes = {each.code for each in known.rules.vomits}
    ifs = [NO_VOMIT] if rule.at_least == 1 else [WhatIf("one vomit only", lambda was: vomiting(was, 1)), NO_VOMIT]
    yield from _descending(known, ifs, lambda was: _worst(answer_findings(was), codes), given)
    yield from _seen_otherwise(rule.steps, given)


@_lower.register
def _of_doubt(rule: UnsureRule, found: Found) -> Iterator[Lower]:
    yield Lower(f"a good answer to “{asked(found.known, rule.topic.value)}”", Level.ON_TRACK)
    yield from _seen_otherwise(rule.steps, found.finding.level)


@_lower.register
def _of_weight(rule: WeightRule, found: Found) -> Iterator[Lower]:
    before = found.known.case.patient.weight_g
    reached = [(level, share) for level, share in rule.bands if level <= found.finding.level]
    left = [Level.ON_TRACK, *(level for level, _ in reached[:-1])]
    for (_, share), level in reversed(list(zip(reached, left, strict=True))):
        yield Lower(f"a weight above {round(before * (1 - share), 1):g} g", level)


@_lower.register
def _of_clock(rule: ClockRule, found: Found) -> Iterator[Lower]:
    known, now = found.known, found.now

    def weigh(was: Recovery) -> Level:
        judged = food_judged_at(was, now) if rule.sign is Sign.FOOD else now
        return _worst(clock_findings(was, judged, frozenset({rule.sign})), {rule.code})

    placed = window_at(windows_of(rule, known), known.case.since_surgery(now))
    spans = [span for _, span in placed[0].hours] if placed is not None else []
    ifs = [known_after(known, rule.sign, now - span, now) for span in reversed(spans)]
    yield from _descending(known, ifs, weigh, found.finding.level)
    ill = rule.sooner.facts if rule.sooner is not None else frozenset()
    questions = dict.fromkeys(question for question, answer in sorted(ill) if known.stands(question, answer))
    yield from that_lower(known, [well(question, known) for question in questions], weigh, found.finding.level)


@_lower.register
def _of_picture(rule: PictureRule, found: Found) -> Iterator[Lower]:
    known, now = found.known, found.now

    def weigh(was: Recovery) -> Level:
        return _worst(picture_findings(was, now), {rule.code})

    parts = PARTS.get(rule.picture, ())
    standing = dict.fromkeys(question for question, answer in parts if known.stands(question, answer))
    hours = [known_after(known, sign, now - span, now) for sign, span in rule.hours.items()]
    pain = [NO_PAIN] if rule.picture == "stasis" and known.pain_signs() is not None else []
    vomits = [NO_VOMIT] if rule.picture == "no_stool_and_ill" and known.vomited() else []
    ifs = [*hours, *(well(question, known) for question in standing), *pain, *vomits]
    yield from that_lower(known, ifs, weigh, found.finding.level)


def _worst(findings: Iterator[Finding], codes: set[str]) -> Level:
    return worst(each for each in findings if each.rule in codes)


def _descending(known: Recovery, ifs: Sequence[WhatIf], weigh: Weigh, given: Level) -> Iterator[Lower]:
    """Each condition alone, the least first, as long as one gives less than those before it."""
    least = given
    for each in ifs:
        for lower in that_lower(known, [each], weigh, least):
            least = lower.level
            yield lower


def _seen_otherwise(steps: Sequence[Step], given: Level) -> Iterator[Lower]:
    """The windows in which the same, seen then, gives less."""
    begins = "any time"
    for step in steps:
        window = begins if step.until is None else f"before {hours_words(step.until)} after surgery"
        if step.level < given:
            yield Lower(f"seen {window}", step.level)
        if step.until is not None:
            begins = f"{hours_words(step.until)} or more after surgery"
