"""What a finding rests on: each answer in plain words, when it was given and by whom; the times of a clock; doses.

Read anew from what was known, rule by rule, so that triage itself carries none of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import singledispatch

from followup.domain.answers import STRONG_PAIN_SIGNS, Question
from followup.domain.bounds import Holds
from followup.domain.case import Case
from followup.domain.clocks import Clock, Kind, clock_of, kind_of, question_of
from followup.domain.explanation import Found, Ground
from followup.domain.medicine_rules import MISSED, open_dose
from followup.domain.observation import Observation
from followup.domain.parts import PARTS, UNWELL
from followup.domain.plain_words import NOT_SURE, SIGN_WORDS, answer_words, asked, on_the_clock, pain_words
from followup.domain.recovery import CONTRADICTORY_WITHIN, NOT_AN_ANSWER, Recovery
from followup.domain.rule_words import rule_of
from followup.domain.rules import (
    AnswerRule,
    ClockRule,
    PainRule,
    PictureRule,
    Rule,
    UnsureRule,
    VomitRule,
    WeightRule,
)
from followup.domain.silence import unanswered
from followup.domain.sources import Fact
from followup.domain.terms import Concern, Observer, Sign
from followup.domain.unsure import standing_unsure

CLINIC, PLAN = "clinic", "plan"
IN_WORDS = "words_"
"""How the code of a rule begins that reads words which nobody has read yet."""


def grounds_of(found: Found) -> tuple[Ground, ...]:
    """Everything that the finding rests on, oldest first; the same thing once."""
    rule = rule_of(found.known, found.finding.rule)
    grounds = _of_rule(rule, found) if rule is not None else _of_code(found)
    once = tuple(dict.fromkeys(grounds))
    return tuple(sorted(once, key=lambda each: each.at or found.now))


def standing_looks(known: Recovery, question: Question) -> tuple[Observation, ...]:
    """The observations whose answer to `question` stands."""
    at = {seen.at for seen in known.standing(question)}
    return tuple(seen for seen in known.observations if seen.at in at and _answers(seen, question))


def last_pain_looks(known: Recovery) -> tuple[Observation, ...]:
    """The newest look for signs of pain, with those within half an hour of it."""
    looked = known.pain_signs()
    return tuple(
        seen
        for seen in known.observations
        if looked is not None and seen.pain_signs is not None and looked[1] - seen.at <= CONTRADICTORY_WITHIN
    )


def _answers(seen: Observation, question: Question) -> bool:
    return seen.answer(question) not in {None, NOT_AN_ANSWER}


@singledispatch
def _of_rule(_rule: Rule, found: Found) -> Iterator[Ground]:
    yield from _own_words(found)


def _own_words(found: Found) -> Iterator[Ground]:
    for seen in found.known.observations:
        if seen.text and seen.at == found.finding.since:
            yield Ground("In the owner's own words", f"“{seen.text}”", seen.at, seen.by.value)


@_of_rule.register
def _of_answers(rule: AnswerRule, found: Found) -> Iterator[Ground]:
    known = found.known
    every = rule.stays or rule.twice_running
    looks = known.observations if every else standing_looks(known, rule.question)
    for seen in looks:
        if seen.answer(rule.question) in rule.answers:
            yield _answered(known, seen, rule.question)
    yield from _facts(known, rule.together_with)
    if rule.or_vomiting:
        yield from _vomits(known)


@_of_rule.register
def _of_pain(_rule: PainRule, found: Found) -> Iterator[Ground]:
    yield from _pain(found.known)


@_of_rule.register
def _of_vomits(_rule: VomitRule, found: Found) -> Iterator[Ground]:
    yield from _vomits(found.known)


@_of_rule.register
def _of_doubt(rule: UnsureRule, found: Found) -> Iterator[Ground]:
    said = standing_unsure(found.known, rule.topic)
    for seen in found.known.observations:
        if seen.at in said and rule.topic in seen.not_sure:
            yield Ground(asked(found.known, rule.topic.value), NOT_SURE, seen.at, seen.by.value)


@_of_rule.register
def _of_weight(_rule: WeightRule, found: Found) -> Iterator[Ground]:
    case = found.known.case
    yield Ground("Weight at discharge", f"{case.patient.weight_g:g} g", case.discharged_at, CLINIC)
    for seen in found.known.observations:
        if seen.weight_g is not None and seen.at == found.finding.since:
            yield Ground(asked(found.known, "weight_g"), f"{seen.weight_g:g} g", seen.at, seen.by.value)


@_of_rule.register
def _of_clock(rule: ClockRule, found: Found) -> Iterator[Ground]:
    yield from _clock(found.known, rule.sign)
    if rule.sooner is not None:
        yield from _facts(found.known, rule.sooner.facts)


@_of_rule.register
def _of_picture(rule: PictureRule, found: Found) -> Iterator[Ground]:
    known = found.known
    for sign, limit in rule.hours.items():
        if clock_of(known, sign).reading(found.now).reaches(limit) is not Holds.NOT:
            yield from _clock(known, sign)
    yield from _facts(known, PARTS.get(rule.picture, ()))
    if rule.picture == "stasis":
        yield from _pain(known)
    if rule.picture == "no_stool_and_ill":
        yield from _vomits(known)


def _of_code(found: Found) -> Iterator[Ground]:
    """Of a rule that is no row of the protocol."""
    if found.finding.rule.startswith(IN_WORDS):
        yield from _own_words(found)
    elif found.finding.concern is Concern.SILENCE:
        yield from _silence(found)
    elif found.finding.concern is Concern.EATING:
        yield from _before_sleep(found.known)
    elif found.finding.concern is Concern.MEDICINE:
        yield from _medicine(found)
    elif found.finding.concern is Concern.WORRY:
        yield from _why_silent(found)
    else:
        yield from _own_words(found)


def _silence(found: Found) -> Iterator[Ground]:
    known, silent = found.known, unanswered(found.known, found.now)
    for each in silent:
        how = "could not be asked" if each.at in known.unasked else "no answer about eating"
        yield Ground("Check-in", f"{how}; it had until {on_the_clock(known, each.answer_by)}", each.at, PLAN)


def _why_silent(found: Found) -> Iterator[Ground]:
    for each in found.known.why_silent:
        if each.at == found.finding.since:
            yield Ground("Why nothing was heard", each.told(), each.at, Observer.OWNER.value)


def _before_sleep(known: Recovery) -> Iterator[Ground]:
    yield from _clock(known, Sign.FOOD)
    yield from _facts(known, UNWELL)
    looked = known.pain_signs()
    if looked is not None and looked[0] & STRONG_PAIN_SIGNS:
        yield from _pain(known)
    droppings = clock_of(known, Sign.FAECES)
    if droppings.nothing_known and droppings.first_none is not None:
        yield from _clock(known, Sign.FAECES)


def _medicine(found: Found) -> Iterator[Ground]:
    known, code = found.known, found.finding.rule
    for medicine in known.medication:
        if code == f"held_{medicine.drug}":
            yield from _against(known, medicine.drug)
            dose = open_dose(known, medicine, found.now)
            if dose is not None:
                yield Ground(f"Next dose of {medicine.drug}", "not told of", dose.at, PLAN)
    yield from _doses(found)
    for seen in known.observations:
        if seen.other_medicine is not None and seen.at == found.finding.since and not code.startswith("mishap_"):
            yield Ground("Given besides the plan", seen.other_medicine.what, seen.at, seen.by.value)


def _doses(found: Found) -> Iterator[Ground]:
    """The reports that speak of the dose: all that were not taken, else the one that went wrong and the one before."""
    code = found.finding.rule
    for seen in found.known.observations:
        if seen.dose is None or not code.endswith(f"_{seen.dose.drug}"):
            continue
        at, outcome = seen.dose.given_at or seen.at, seen.dose.outcome
        missed = code.startswith("missed_") and outcome in MISSED
        if missed or (code.startswith(("mishap_", "too_soon_")) and at == found.finding.since):
            amount = f", {seen.dose.ml:g} ml" if seen.dose.ml is not None else ""
            wrong = ", into the wrong place or animal" if seen.dose.route_wrong else ""
            yield Ground(f"Dose of {seen.dose.drug}", f"{outcome.words}{amount}{wrong}", at, seen.by.value)


def _against(known: Recovery, drug: str) -> Iterator[Ground]:
    """The signs against an NSAID that no vet has weighed."""
    rule, released = known.rules.steady.stop_and_call, known.released_at(drug)
    later = (
        each
        for each in _facts(known, rule.facts_later)
        if each.at is not None and known.case.since_surgery(each.at) >= rule.later_from
    )
    vomits = _vomits(known) if rule.vomiting else ()
    for each in (*_facts(known, rule.facts), *later, *vomits):
        if released is None or each.at is None or each.at > released:
            yield each


def _answered(known: Recovery, seen: Observation, question: Question) -> Ground:
    fact = (question, seen.answers[question])
    return Ground(asked(known, question), answer_words(fact), seen.at, seen.by.value, fact=fact)


def _facts(known: Recovery, facts: Iterable[Fact]) -> Iterator[Ground]:
    """Those of `facts` that stand."""
    wanted = sorted(facts)  # a set has no order that stays
    for question in dict.fromkeys(question for question, _ in wanted):
        for seen in standing_looks(known, question):
            if (question, seen.answers[question]) in wanted:
                yield _answered(known, seen, question)


def _pain(known: Recovery) -> Iterator[Ground]:
    for seen in last_pain_looks(known):
        if seen.pain_signs:
            yield Ground("Signs that may mean pain", pain_words(seen.pain_signs), seen.at, seen.by.value)


def _vomits(known: Recovery) -> Iterator[Ground]:
    told = [seen for seen in known.observations if seen.vomits is not None]
    if told and told[-1].vomits:
        words = "once" if told[-1].vomits == 1 else f"{told[-1].vomits} times"
        yield Ground("Vomiting since the last answer", words, told[-1].at, told[-1].by.value, vomiting=True)


def _clock(known: Recovery, sign: Sign) -> Iterator[Ground]:
    """Since when nothing is known, and every "none" and "not sure" of the run."""
    clock = clock_of(known, sign)
    yield _last_known(known, sign, clock)
    question = question_of(sign)
    for seen in known.observations:
        if clock.run_began is None or seen.at < clock.run_began:
            continue
        kind = kind_of(seen, sign)
        if _answers(seen, question):
            yield _answered(known, seen, question)
        elif kind is Kind.UNSURE:
            yield Ground(asked(known, question), NOT_SURE, seen.at, seen.by.value)


def _last_known(known: Recovery, sign: Sign, clock: Clock) -> Ground:
    last = f"Last {SIGN_WORDS[sign].removeprefix('a ')}"
    if clock.nothing_known:
        return Ground(last, "not known since the end of surgery", known.case.surgery_ended_at, CLINIC)
    by = CLINIC if clock.known.earliest in _written_down(known.case) else ""
    latest = clock.known.latest
    until = "" if latest == clock.known.earliest else f", or as late as {on_the_clock(known, latest)}"
    return Ground(last, f"seen, or told of{until}", clock.known.earliest, by or _teller(known, sign, clock))


def _written_down(case: Case) -> tuple[object, ...]:
    return (
        case.last_ate_before_discharge_at,
        case.last_faeces_before_discharge_at,
        case.last_urine_before_discharge_at,
    )


def _teller(known: Recovery, sign: Sign, clock: Clock) -> str:
    """Who told the time, or answered well at it; the clinic where nobody did."""
    told = [seen for seen in known.observations if seen.at >= clock.known.earliest and kind_of(seen, sign) is not None]
    return told[0].by.value if told else CLINIC
