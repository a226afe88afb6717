"""What is said of any verdict must be true of it: what would lower a finding lowers it, and a drug changes no level."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from followup.casefile import verdict_json
from followup.domain.answer_rules import answer_findings
from followup.domain.explaining import before_newest, explain
from followup.domain.recovery import Recovery
from followup.domain.rules import AnswerRule
from followup.domain.terms import Level
from followup.domain.triage import findings_at, triage
from tests.case_files import schema
from tests.domain.any_recovery import moments, recoveries
from tests.recoveries import LONDON


def with_answer(known: Recovery, rule: AnswerRule, answer: str) -> Recovery:
    """The standing answers to the rule's question replaced, worked out here and not by the program's own what-if."""
    at = {seen.at for seen in known.standing(rule.question)}
    looks = [
        replace(seen, answers={**seen.answers, rule.question: answer})
        if seen.at in at and rule.question in seen.answers
        else seen
        for seen in known.observations
    ]
    return replace(known, observations=tuple(looks))


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_every_finding_says_what_would_lower_it_or_that_nothing_would(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    verdict = triage(whole, now)
    explanation = explain(whole, verdict, before_newest(whole, now))

    assert len(explanation.findings) == len(verdict.findings)
    for finding, each in zip(verdict.findings, explanation.findings, strict=True):
        assert bool(each.lower) != bool(each.nothing_lowers), finding.rule
        assert all(lower.level < finding.level and lower.words for lower in each.lower), finding
        assert each.rule, finding.rule
        assert each.grounds, finding.rule
        assert all(ground.at is None or ground.at <= now or ground.by == "plan" for ground in each.grounds)


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_milder_answer_that_is_named_really_lowers_its_finding(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    known, verdict = whole.until(now), triage(whole, now)
    rules = {rule.code: rule for rule in known.rules.answers}
    for finding, each in zip(verdict.findings, explain(whole, verdict, None).findings, strict=True):
        rule = rules.get(finding.rule)
        if rule is None:
            continue
        for lower in each.lower:
            for question, answer in lower.instead:
                if question is not rule.question:
                    continue
                left = [one for one in answer_findings(with_answer(known, rule, answer)) if one.rule == finding.rule]
                assert all(one.level < finding.level for one in left), (finding.rule, answer)
                assert max((one.level for one in left), default=Level.ON_TRACK) <= lower.level


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_drugs_on_board_never_change_a_level(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    unexplained = replace(whole, rules=replace(whole.rules, can_explain=()))

    assert findings_at(unexplained.until(now), now) == findings_at(whole.until(now), now)
    assert triage(unexplained, now) == triage(whole, now)


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_explaining_changes_nothing_and_keeps_the_contract(data):
    whole = data.draw(recoveries())
    now = data.draw(moments(whole))
    verdict = triage(whole, now)
    explained: dict[str, Any] = verdict_json(verdict, LONDON, explain(whole, verdict, before_newest(whole, now)))

    assert triage(whole, now) == verdict
    assert list(schema("triage").iter_errors(explained)) == []
    bare = {**explained, "flags": [without_explanation(each) for each in explained["flags"]]}
    assert without_explanation(bare) == verdict_json(verdict, LONDON)


def without_explanation(values):
    return {key: value for key, value in values.items() if key != "explanation"}
