"""Verdicts per second on one core over a whole recovery, beside a general-purpose rule library over the same rules.

The library is given what it can express: rules that read one standing answer, in windows of time, with other answers
beside it. It keeps no clocks, notices no silence, finds no next look; those are in our whole verdict only. Of three
that were tried over the same rules and facts, it is the fastest: zen-engine 13,500 times a second, a binding to the
Common Expression Language 2,500, rule-engine 280 (one busy core; each with all rules in one expression, its best).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import count

import zen

from followup.domain.answer_rules import answer_findings, holds_for
from followup.domain.answers import Question
from followup.domain.bounds import HOUR
from followup.domain.recovery import Recovery
from followup.domain.rules import AnswerRule, Rules
from followup.domain.terms import Level, Procedure, Species
from followup.domain.triage import triage
from tests.bench.smooth.printed import SEED
from tests.bench.smooth.run import life_of, owners_errors

OBSERVATIONS = 25
AIM = 5000
SECONDS = 3.0


def verdicts() -> None:
    """Print it."""
    whole = whole_recovery()
    now, rules = whole.observations[-1].at, whole.rules
    said = expressible(whole)
    ours = replace(whole, rules=Rules(answers=said))
    library = Library(said)
    if library.levels(facts_of(ours)) != our_levels(ours):
        raise RuntimeError("the library does not say what our own rules say")
    given, seen = facts_of(ours), len(whole.observations)
    lines = {
        "whole, with clocks, silence, pictures and the next look": lambda: triage(replace(whole), now),
        "comparable part": lambda: our_levels(replace(ours)),
        "that part in zen-engine, facts read from the observations": lambda: library.levels(facts_of(replace(ours))),
        "that part in zen-engine, facts at hand": lambda: library.levels(given),
    }
    print(f"verdicts over {seen} observations in 14 days, {whole.pinned}, one core; aim {AIM:,}, no requirement")
    print(
        f"  comparable: {len(said)} of {len(rules.all())} rules (answers in windows; no clock, silence, run of answers)"
    )
    for name, step in lines.items():
        print(f"  {name:58} {_rate(step)}")


def whole_recovery() -> Recovery:
    """The first simulated rabbit spay with so many observations, doses and words among them."""
    errors = owners_errors(SEED)
    for number in count():
        life = life_of(number, SEED, errors, answers=True)
        case = life.recovery.case
        kind = case.patient.species, case.procedure
        if kind == (Species.RABBIT, Procedure.SPAY) and len(life.recovery.observations) >= OBSERVATIONS:
            return replace(life.recovery)
    raise AssertionError


def expressible(whole: Recovery) -> tuple[AnswerRule, ...]:
    """The rules of this patient that look at answers that stand, and at nothing before or behind them."""
    return tuple(
        rule
        for rule in whole.rules.answers
        if holds_for(rule, whole.case)
        and not (rule.twice_running or rule.apart or rule.stays or rule.at_work is not None or rule.or_vomiting)
    )


def our_levels(known: Recovery) -> dict[str, Level]:
    """What our own rules give: the level of each that holds."""
    return {found.rule: found.level for found in answer_findings(known)}


def facts_of(known: Recovery) -> dict[str, object]:
    """The standing answers as the library reads them: each with the hours since surgery at which it was seen."""
    facts: dict[str, object] = {}
    for question in Question:
        standing = known.standing(question)
        facts[_name(question)] = standing[-1].answer if standing else ""
        facts[f"{_name(question)}_hours"] = known.case.since_surgery(standing[-1].at) / HOUR if standing else 0.0
    return facts


class Library:
    """All rules in one expression that gives the level of each: the fastest way that the library offers."""

    def __init__(self, rules: Sequence[AnswerRule]) -> None:
        """Compile them once."""
        self._codes = [rule.code for rule in rules]
        self._compiled = zen.compile_expression(f"[{', '.join(map(as_expression, rules))}]")

    def levels(self, facts: dict[str, object]) -> dict[str, Level]:
        """The level of each rule that holds."""
        found = zip(self._codes, self._compiled.evaluate(facts), strict=True)
        return {code: Level(int(level)) for code, level in found if level}


def as_expression(rule: AnswerRule) -> str:
    """The rule in the library's language: the level that it gives, 0 where it does not hold."""
    question = _name(rule.question)
    answers = ", ".join(f"'{answer}'" for answer in sorted(rule.answers))
    holds = f"{question} in [{answers}]"
    if rule.together_with:
        beside = (f"{_name(other)} == '{answer}'" for other, answer in sorted(rule.together_with))
        holds = f"({holds}) and ({' or '.join(beside)})"
    level = str(Level.ON_TRACK.value)
    for step in reversed(rule.steps):
        now = str(step.level.value)
        level = now if step.until is None else f"({question}_hours < {step.until / HOUR} ? {now} : {level})"
    return f"({holds} ? {level} : 0)"


def _name(question: Question) -> str:
    return question.value.replace(".", "_")


def _rate(step: Callable[[], object]) -> str:
    """How often a second; in processor time, since other programs may run."""
    step()
    done, begun = 0, time.process_time()
    while (spent := time.process_time() - begun) < SECONDS:
        step()
        done += 1
    return f"{done / spent:,.0f} a second"
