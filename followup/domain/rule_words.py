"""A rule in plain words, made from its own data: what must be so, and which level it then gives."""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch

from followup.domain.answers import ANSWERS
from followup.domain.plain_words import (
    SIGN_WORDS,
    answer_words,
    asked,
    hours_words,
    level_words,
    pain_words,
    quoted,
    steps_words,
)
from followup.domain.recovery import Recovery
from followup.domain.rules import (
    AnswerRule,
    ClockRule,
    Limits,
    PainRule,
    PictureRule,
    Rule,
    UnsureRule,
    VomitRule,
    WeightRule,
    WordRule,
)


def rule_in_words(known: Recovery, code: str) -> str:
    """The rule of that code; empty for one that is not known here."""
    rule = rule_of(known, code)
    if rule is not None:
        return f"{_condition(rule, known)}."
    return next((words for begins, words in _by_code(known).items() if code.startswith(begins)), "")


def _by_code(known: Recovery) -> dict[str, str]:
    """Rules that are no rows of a protocol, by the beginning of their code, with the protocol's figures."""
    steady = known.rules.steady
    night, held, taken, wrong = steady.before_sleep, steady.stop_and_call, steady.not_taken, steady.mishaps
    grave = f"{float(wrong.far_too_much):g} times, above the limit of a day, or into the lungs: {wrong.grave.word}"
    another = f"{wrong.another.word}; of an NSAID {wrong.another_nsaid.word}"
    return {
        "silent_because_unwell": "The owner says that nothing was heard because the animal was not well.",
        "silence": "A check-in that nobody has answered about eating by its time: monitor or urgent, by how early in "
        "the recovery it was put, whether the answer before was good, and how many stand unanswered.",
        "decided_before_sleep": "A food clock that would reach its emergency limit before the morning is decided "
        f"before the owner sleeps: {night.level.word}; {night.with_signs.word} where the animal is unwell, or at sleep "
        "where no vet has been spoken to.",
        "missed": f"{taken.running} doses of one drug running that were told of and not taken: {taken.level.word}.",
        "held": f"An NSAID from {hours_words(held.before)} before its dose, and a sign against it: "
        f"{held.level.word}, and the dose is held.",
        "too_soon": f"A second dose inside the shortest spacing: {another}.",
        "mishap": f"More than planned: {wrong.a_little_more.word}; {float(wrong.half_again):g} times or more: "
        f"{another}; {grave}.",
        "human_painkiller": f"A painkiller for people that the vet did not prescribe: {wrong.grave.word}.",
        "another_medicine": f"A medicine that is not on the plan: {another}.",
        "words_tell_of_a_grave_mishap": f"Words that nobody has read tell of a grave mishap: {wrong.grave.word}.",
        "words_tell_of_a_mishap": f"Words that nobody has read tell of a mishap with medicine: {another}.",
        "words_name_a_human_painkiller": "Words that nobody has read name a painkiller for people: "
        f"{wrong.grave.word} where it was given, else {wrong.another.word}.",
        "words_say_died": "The owner's own words say that the animal has died: a person reads them first.",
    }


def rule_of(known: Recovery, code: str) -> Rule | None:
    """The row of the protocol with that code."""
    return next((rule for rule in known.rules.all() if rule.code == code), None)


@singledispatch
def _condition(rule: Rule, _known: Recovery) -> str:
    return rule.because


@_condition.register
def _of_answers(rule: AnswerRule, known: Recovery) -> str:
    facts = [(rule.question, each) for each in ANSWERS[rule.question] if each in rule.answers]
    parts = [f"{asked(known, rule.question)} {quoted(facts)}"]
    beside = [answer_words(fact) for fact in sorted(rule.together_with)] + ["vomiting"] * rule.or_vomiting
    if beside:
        parts.append(f"with one of: {', '.join(dict.fromkeys(beside))}")
    if rule.twice_running:
        parts.append("twice running" + (f", {hours_words(rule.apart)} or more apart" if rule.apart else ""))
    if rule.at_work is not None:
        parts.append(f"while an {rule.at_work.upper()} is at work")
    if rule.stays:
        parts.append("until a person has reviewed it")
    return f"{', '.join(parts)}: {steps_words(rule.steps)}"


@_condition.register
def _of_pain(rule: PainRule, _known: Recovery) -> str:
    return f"At least {rule.at_least} of: {pain_words(rule.signs)}. Seen, it gives {steps_words(rule.steps)}"


@_condition.register
def _of_vomits(rule: VomitRule, _known: Recovery) -> str:
    times = "Vomiting" if rule.at_least == 1 else f"Vomiting {rule.at_least} times or more"
    return f"{times} since the last answer: {steps_words(rule.steps)}"


@_condition.register
def _of_doubt(rule: UnsureRule, known: Recovery) -> str:
    often = "" if rule.at_least == 1 else f", {rule.at_least} times running"
    return f"“I am not sure” to “{asked(known, rule.topic.value)}”{often}: {steps_words(rule.steps)}"


@_condition.register
def _of_clock(rule: ClockRule, _known: Recovery) -> str:
    soon = rule.sooner
    earlier = f"; sooner ({_windows(soon.windows)}) {_sooner_when(rule)}" if soon is not None else ""
    return f"Hours without {SIGN_WORDS[rule.sign]}: {_windows(rule.windows)}{earlier}. {rule.because}"


def _sooner_when(rule: ClockRule) -> str:
    soon = rule.sooner
    if soon is None:
        return ""
    parts = []
    if soon.age_months_from is not None:
        parts.append(f"from {soon.age_months_from:g} months of age")
    if soon.age_months_below is not None:
        parts.append(f"under {soon.age_months_below:g} months of age")
    if soon.facts:
        parts.append(f"with {quoted(sorted(soon.facts))}")
    return ", or ".join(parts)


def _windows(windows: Iterable[Limits]) -> str:
    return "; ".join(_window(each) for each in windows)


def _window(each: Limits) -> str:
    before = "" if each.until is None else f"before {hours_words(each.until)} after surgery "
    return before + ", ".join(f"{level_words(level)} from {hours_words(span)}" for level, span in each.hours)


@_condition.register
def _of_weight(rule: WeightRule, known: Recovery) -> str:
    before = known.case.patient.weight_g
    bands = ", ".join(f"{level_words(level)} at {before * (1 - share):g} g" for level, share in rule.bands)
    return f"Weight against {before:g} g at discharge: {bands}"


@_condition.register
def _of_picture(rule: PictureRule, _known: Recovery) -> str:
    hours = ", ".join(f"{hours_words(span)} without {SIGN_WORDS[sign]}" for sign, span in rule.hours.items())
    together = f"{rule.because} ({hours})" if hours else rule.because
    return f"Several facts that mean more together: {together}: {steps_words(rule.steps)}"


@_condition.register
def _of_own_words(rule: WordRule, _known: Recovery) -> str:
    return f"{rule.because}: {level_words(rule.level)} until a person has read them"
