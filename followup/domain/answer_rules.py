"""Rules that read what was answered: single facts, pain signs, weight. Judged when the animal was seen.

Source: clinical defaults, 3 and 4.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from followup.domain.case import Case
from followup.domain.recovery import Recovery, Seen
from followup.domain.rules import AnswerRule, Applies, PainRule, Rule, Step, WeightRule
from followup.domain.terms import Certainty, Level
from followup.domain.verdict import Finding

DAY_HOURS = 24


def answer_findings(recovery: Recovery) -> Iterator[Finding]:
    """What the standing answers give, whatever the time is now."""
    for answer_rule in recovery.rules.answers:
        yield from _answered(recovery, answer_rule)
    for pain_rule in recovery.rules.pain:
        yield from _hurting(recovery, pain_rule)
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


def _matches(applies: Applies, case: Case) -> list[bool]:
    """Whether each thing that `applies` names is so. `only` needs all of them, `unless` any."""
    card = case.discharge
    named = (
        (applies.procedures, case.procedure),
        (applies.closures, card.closure),
        (applies.approaches, card.approach),
    )
    return [value in wanted for wanted, value in named if wanted]


def _answered(recovery: Recovery, rule: AnswerRule) -> Iterator[Finding]:
    if not holds_for(rule, recovery.case) or not _accompanied(recovery, rule):
        return
    hits = [seen for seen in recovery.standing(rule.question) if seen.answer in rule.answers]
    if rule.twice_running and not _twice(recovery.answers_to(rule.question), rule.answers):
        return
    worst = max(hits, key=lambda seen: (_level(recovery, rule.steps, seen.at), seen.at), default=None)
    if worst is not None:
        yield from _finding(recovery, rule, _level(recovery, rule.steps, worst.at), worst.at)


def _accompanied(recovery: Recovery, rule: AnswerRule) -> bool:
    return not rule.together_with or any(recovery.stands(*fact) for fact in rule.together_with)


def _twice(answers: Sequence[Seen], bad: frozenset[str]) -> bool:
    return len(answers) > 1 and all(seen.answer in bad for seen in answers[-2:])


def _hurting(recovery: Recovery, rule: PainRule) -> Iterator[Finding]:
    looked = recovery.pain_signs()
    if looked is None or not holds_for(rule, recovery.case):
        return
    signs, at = looked
    shown = sorted(sign.value.replace("_", " ") for sign in signs & rule.signs)
    if len(shown) >= rule.at_least:
        level = _level(recovery, rule.steps, at)
        yield from _finding(recovery, rule, level, at, ": " + ", ".join(shown))


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
