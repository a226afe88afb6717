"""Flags in the simulation live as section 13 of the clinical defaults says."""

from __future__ import annotations

import datetime as dt

from followup.domain.terms import Certainty, Concern, Level
from followup.domain.verdict import Finding
from tests.bench.smooth.flag_life import Flags

NOON = dt.datetime(2025, 3, 10, 12, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
EATING = Concern.EATING


def finding(level: Level, *, since: dt.datetime = NOON, rule: str = "eats_less") -> Finding:
    return Finding(rule, EATING, level, Certainty.CERTAIN, "because", "source", since=since)


def follow(flags: Flags, *found: Finding, at: dt.datetime = NOON) -> list[tuple[str, str]]:
    findings = {EATING: found} if found else {}
    return [(each.rule, each.level.word) for each in flags.follow(findings, findings, at)]


def test_an_alert_is_a_flag_opened_at_or_raised_to_urgent_or_emergency():
    flags = Flags()

    assert follow(flags, finding(Level.MONITOR)) == []
    assert follow(flags, finding(Level.URGENT)) == [("eats_less", "urgent")]
    assert follow(flags, finding(Level.URGENT)) == []
    assert follow(flags, finding(Level.EMERGENCY, rule="no_food")) == [("no_food", "emergency")]


def test_what_was_urgent_waits_for_a_person_through_a_good_answer():
    flags = Flags()
    follow(flags, finding(Level.URGENT))

    assert follow(flags) == []
    assert flags.open[EATING].level is Level.ON_TRACK
    assert follow(flags, finding(Level.URGENT), at=NOON + HOUR) == []


def test_a_monitor_flag_settles_itself_and_a_worse_finding_opens_another():
    flags = Flags()
    follow(flags, finding(Level.MONITOR))
    follow(flags)

    assert flags.open == {}
    assert follow(flags, finding(Level.URGENT), at=NOON + HOUR) == [("eats_less", "urgent")]


def test_reviewed_facts_open_nothing_anew_and_newer_or_worse_ones_do():
    flags = Flags()
    follow(flags, finding(Level.URGENT))
    flags.review(EATING, NOON + HOUR)

    assert follow(flags, finding(Level.URGENT), at=NOON + 2 * HOUR) == []
    newer = finding(Level.URGENT, since=NOON + 2 * HOUR)
    assert follow(flags, newer, at=NOON + 2 * HOUR) == [("eats_less", "urgent")]
    flags.review(EATING, NOON + 3 * HOUR)
    assert follow(flags, finding(Level.EMERGENCY), at=NOON + 4 * HOUR) == [("eats_less", "emergency")]


def test_what_waits_for_the_morning_opens_nothing_and_an_urgent_flag_follows_everything():
    flags = Flags()
    held, whole = {EATING: [finding(Level.MONITOR)]}, {EATING: [finding(Level.URGENT)]}

    assert flags.follow(held, whole, NOON) == ()
    assert [each.level for each in flags.follow(whole, whole, NOON)] == [Level.URGENT]
    worse = {EATING: [finding(Level.EMERGENCY)]}
    assert [each.level for each in flags.follow(held, worse, NOON)] == [Level.EMERGENCY]
