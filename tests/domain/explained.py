"""Short ways to write an explanation down, for the tests of explaining."""

from __future__ import annotations

from typing import Any

from followup.domain.explaining import before_newest, explain
from followup.domain.explanation import Explained, Explanation
from followup.domain.observation import DoseReport, Observation
from followup.domain.terms import DoseOutcome, Species
from followup.domain.triage import triage
from tests.domain.every_case import case_of
from tests.domain.triage_cases import clock, recovery, when
from tests.recoveries import guinea_pig, meloxicam

PIG = guinea_pig(home_medication=(meloxicam(),))
GOOD: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}
CAT = case_of(Species.CAT, PIG.procedure)


def explained(observations, now: str, case=PIG) -> Explanation:
    whole = recovery(case, observations)
    return explain(whole, triage(whole, when(now)), before_newest(whole, when(now)))


def of(rule: str, observations, now: str, case=PIG) -> Explained:
    whole = recovery(case, observations)
    verdict = triage(whole, when(now))
    places = [index for index, each in enumerate(verdict.findings) if each.rule == rule]
    assert len(places) == 1, [each.rule for each in verdict.findings]
    return explain(whole, verdict, None).findings[places[0]]


def lower(each: Explained) -> list[tuple[str, str]]:
    return [(one.words, one.level.word) for one in each.lower]


def grounds(each: Explained) -> list[tuple[str, str, str | None, str]]:
    return [(one.question, one.answer, clock(one.at), one.by) for one in each.grounds]


def dose(text: str, outcome: str = "given", **more: Any) -> Observation:
    return Observation(at=when(text), dose=DoseReport("meloxicam", DoseOutcome(outcome), **more))
