"""Rules that read what was answered: single facts, pain signs, vomits, "not sure", weight. Judged when seen.

Source: clinical defaults, 3, 4 and 6.7.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from followup.domain.case import Case
from followup.domain.drug_groups import is_a
from followup.domain.on_board import at_work
from followup.domain.recovery import Recovery, Seen
from followup.domain.rules import AnswerRule, Applies, PainRule, Rule, Step, UnsureRule, VomitRule, WeightRule
from followup.domain.sources import Fact
from followup.domain.terms import Certainty, Level
from followup.domain.unsure import standing_unsure
from followup.domain.verdict import Finding


def answer_findings(recovery: Recovery) -> Iterator[Finding]:
    """What the standing answers give, whatever the time is now."""
    for answer_rule in recovery.rules.answers:
        yield from _answered(recovery, answer_rule)
    for pain_rule in recovery.rules.pain:
        yield from _hurting(recovery, pain_rule)
    for vomit_rule in recovery.rules.vomits:
        yield from _vomiting(recovery, vomit_rule)
    for unsure_rule in recovery.rules.unsure:
        yield from _not_sure(recovery, unsure_rule)
    for weight_rule in recovery.rules.weight:
        yield from _lighter(recovery, weight_rule)


def holds_for(rule: Rule, case: Case) -> bool:
    """Whether the rule speaks of this operation at all."""
    if rule.unless is not None and any(_matches(rule.unless, case)):
        return False
    return all(_matches(rule.only, case))


def level_at(steps: Sequence[Step], since_surgery: dt.timedelta) -> Level:
    """The level of the first step whose window holds."""
    for step in steps:
        if step.until is None or since_surgery < step.until:
            return step.level
    return Level.ON_TRACK


def weight_change_pct(recovery: Recovery) -> float | None:
    """Newest weight against the weight at discharge in per cent, negative for loss; None: not weighed."""
    weighed = recovery.weight()
    if weighed is None:
        return None
    return (weighed[0] / recovery.case.patient.weight_g - 1) * 100


def any_stands(recovery: Recovery, facts: Iterable[Fact], *, or_vomiting: bool = False) -> bool:
    """Whether one of `facts` stands, or vomiting where that counts too."""
    return any(recovery.stands(*fact) for fact in facts) or (or_vomiting and recovery.vomited())


def _matches(applies: Applies, case: Case) -> list[bool]:
    """Whether each thing that `applies` names is so. `only` needs all of them, `unless` any."""
    card = case.discharge
    named = (
        (applies.procedures, case.procedure),
        (applies.closures, card.closure),
        (applies.approaches, card.approach),
    )
    found = [value in wanted for wanted, value in named if wanted]
    return found + ([_was_given(applies, case)] if applies.given else [])


def _was_given(applies: Applies, case: Case) -> bool:
    """In the clinic or on the way home; what is not written down is not counted."""
    drugs = [*(each.drug for each in case.given_in_clinic or ()), *(each.drug for each in case.home_medication or ())]
    return any(is_a(drug, group) for drug in drugs for group in applies.given)


def _answered(recovery: Recovery, rule: AnswerRule) -> Iterator[Finding]:
    hits = [seen for seen in _that_count(recovery, rule) if seen.answer in rule.answers]
    if not hits or not holds_for(rule, recovery.case) or not _accompanied(recovery, rule):
        return
    if rule.twice_running and not _running(recovery.answers_to(rule.question), rule):
        return
    worst = max(hits, key=lambda seen: (_level(recovery, rule.steps, seen.at), seen.at))
    yield from _finding(recovery, rule, _level(recovery, rule.steps, worst.at), worst.at)


def _that_count(recovery: Recovery, rule: AnswerRule) -> Sequence[Seen]:
    """The answers that stand; of what stays, every one that no person has reviewed."""
    if rule.stays:
        reviewed = recovery.reviewed_at(rule.concern)
        return [seen for seen in recovery.answers_to(rule.question) if reviewed is None or seen.at > reviewed]
    standing = recovery.standing(rule.question)
    group = rule.at_work
    return standing if group is None else [seen for seen in standing if at_work(recovery, group, seen.at)]


def _accompanied(recovery: Recovery, rule: AnswerRule) -> bool:
    if not rule.together_with and not rule.or_vomiting:
        return True
    return any_stands(recovery, rule.together_with, or_vomiting=rule.or_vomiting)


def _running(answers: Sequence[Seen], rule: AnswerRule) -> bool:
    """Whether the newest answers are bad, more than one of them, and the first as long ago as the rule asks."""
    run: list[Seen] = []
    for seen in answers:
        run = [*run, seen] if seen.answer in rule.answers else []
    return len(run) > 1 and run[-1].at - run[0].at >= rule.apart


def _hurting(recovery: Recovery, rule: PainRule) -> Iterator[Finding]:
    looked = recovery.pain_signs()
    if looked is None or not holds_for(rule, recovery.case):
        return
    signs, at = looked
    shown = sorted(sign.value.replace("_", " ") for sign in signs & rule.signs)
    if len(shown) >= rule.at_least:
        level = _level(recovery, rule.steps, at)
        yield from _finding(recovery, rule, level, at, ": " + ", ".join(shown))


def _vomiting(recovery: Recovery, rule: VomitRule) -> Iterator[Finding]:
    told = recovery.vomiting()
    if told is None or told[0] < rule.at_least or not holds_for(rule, recovery.case):
        return
    count, at = told
    times = "once" if count == 1 else f"{count} times"
    yield from _finding(recovery, rule, _level(recovery, rule.steps, at), at, f": {times} since the last answer")


def _not_sure(recovery: Recovery, rule: UnsureRule) -> Iterator[Finding]:
    said = standing_unsure(recovery, rule.topic)
    if len(said) < rule.at_least or not holds_for(rule, recovery.case):
        return
    found = _finding(recovery, rule, _level(recovery, rule.steps, said[-1]), said[-1])
    yield from (replace(each, certainty=Certainty.POSSIBLE) for each in found)


def _lighter(recovery: Recovery, rule: WeightRule) -> Iterator[Finding]:
    weighed = recovery.weight()
    if weighed is None or not holds_for(rule, recovery.case):
        return
    grams, at = weighed
    before = recovery.case.patient.weight_g
    # Compared as grams, so that a band is reached at the value itself: 855 of 900 g is 5 per cent.
    reached = [level for level, share in rule.bands if grams <= round(before * (1 - share), 6)]
    if reached:
        change = weight_change_pct(recovery) or 0.0
        words = f": {grams:g} g against {before:g} g at discharge, {change:+.1f} %"
        yield from _finding(recovery, rule, max(reached), at, words)


def _level(recovery: Recovery, steps: Sequence[Step], at: dt.datetime) -> Level:
    return level_at(steps, recovery.case.since_surgery(at))


def _finding(recovery: Recovery, rule: Rule, level: Level, at: dt.datetime, values: str = "") -> Iterator[Finding]:
    if level is Level.ON_TRACK:
        return
    hours = recovery.case.since_surgery(at).total_seconds() / 3600
    yield Finding(
        rule=rule.code,
        concern=rule.concern,
        level=level,
        certainty=Certainty.CERTAIN,
        because=f"{rule.because}{values} (seen {hours:.0f} h after surgery)",
        source=rule.source.text,
        since=at,
    )
