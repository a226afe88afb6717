"""A verdict as JSON: what `manage.py triage` prints and what a verdict's row keeps."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from zoneinfo import ZoneInfo

from followup.casefile.explanation_json import explained_json, explanation_json
from followup.casefile.refusals import moment_json
from followup.domain.bounds import HOUR, Bounds
from followup.domain.explanation import Explanation
from followup.domain.terms import Sign
from followup.domain.verdict import Finding, Signals, Verdict

Json = dict[str, object]

HUNDREDTH = 2
"""Hours are printed to a hundredth."""


def verdict_json(verdict: Verdict, zone: ZoneInfo | None = None, explanation: Explanation | None = None) -> Json:
    """The verdict, worst finding first; times in the owner's zone where one is given.

    With its `explanation`, each flag and the whole carry an object of that name beside what the contract asks.
    """
    body = _verdict(verdict, zone)
    if explanation is None:
        return body
    explained = zip(verdict.findings, explanation.findings, strict=True)
    flags = [{**_finding(each), "explanation": explained_json(why, zone)} for each, why in explained]
    return {**body, "flags": flags, "explanation": explanation_json(explanation, zone)}


def _verdict(verdict: Verdict, zone: ZoneInfo | None) -> Json:
    again = verdict.look_again_at
    return {
        "protocol": verdict.protocol,
        "at": moment_json(verdict.at, zone),
        "level": verdict.level.word,
        "heard": {
            "state": verdict.heard.state.value,
            "since": moment_json(verdict.heard.since, zone),
        },
        "flags": [_finding(each) for each in verdict.findings],
        "signals": _signals(verdict.signals),
        "look_again_at": None if again is None else moment_json(again, zone),
        "ask": None
        if verdict.ask is None
        else {
            "at": moment_json(verdict.ask.at, zone),
            "questions": list(verdict.ask.questions),
        },
        "held_doses": list(verdict.held_drugs),
        "paused": verdict.paused,
    }


def rules_in(body: Mapping[str, object]) -> list[tuple[str, str, str]]:
    """Rule, level and certainty of each flag of a stored verdict: what tells it from another of the same level."""
    flags = body.get("flags")
    listed = flags if isinstance(flags, list) else []
    return [(each["rule"], each["level"], each["certainty"]) for each in listed]


def _finding(each: Finding) -> Json:
    return {
        "rule": each.rule,
        "concern": each.concern.value,
        "level": each.level.word,
        "certainty": each.certainty.value,
        "because": each.because,
        "source": each.source,
    }


def _signals(signals: Signals) -> Json:
    return {
        "hours_since_surgery": _hours(signals.since_surgery),
        "hours_since_last_heard": _hours(signals.since_last_heard),
        "hours_without_food": _bounds(signals, Sign.FOOD),
        "hours_without_meal": _bounds(signals, Sign.MEAL),
        "hours_without_faeces": _bounds(signals, Sign.FAECES),
        "hours_without_urine": _bounds(signals, Sign.URINE),
        "weight_change_pct": signals.weight_change_pct,
        "pain_sign_count": signals.pain_sign_count,
        "doses_missed_running": signals.doses_missed_running,
        "check_ins_unanswered_running": signals.check_ins_unanswered_running,
    }


def _hours(span: dt.timedelta) -> float:
    return round(span / HOUR, HUNDREDTH)


def _bounds(signals: Signals, sign: Sign) -> Json | None:
    found: Bounds | None = signals.without.get(sign)
    if found is None:
        return None
    at_least, at_most = found.in_hours()
    return {"at_least": at_least, "at_most": at_most}
