"""Whole recoveries of section 12: two that must stay quiet, three that must not."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.terms import Level
from followup.domain.triage import findings_at
from tests.domain.triage_cases import clock, recovery, seen, verdict, when
from tests.recoveries import at, guinea_pig, rabbit

PIG = guinea_pig(
    last_ate_before_discharge_at=at("2025-03-10 15:00"), last_faeces_before_discharge_at=at("2025-03-10 14:00")
)
PIG_ANSWERS = [
    seen(
        "10 20:45",
        ate="10 20:00",
        appetite="less",
        faeces="fewer",
        demeanour="quiet",
        pain=["hiding", "fluffed_coat"],
        wound_bleeding="spots",
        wound_discharge="clear",
        wound_interference="some",
        scrotum_or_groin="mild_swelling",
        drinking="none",
        urine="normal",
        breathing="normal",
        warmth="warm",
        worried="no",
    ),
    seen("11 07:40", appetite="less", faeces="fewer", demeanour="quiet", worried="no", weight=890),
    seen(
        "11 18:40",
        appetite="less",
        faeces="fewer",
        pain=["hiding"],
        wound_discharge="clear",
        wound_bleeding="none",
        drinking="normal",
        demeanour="quiet",
    ),
    seen("12 07:45", appetite="less", faeces="normal", weight=853, demeanour="bright", wound_discharge="none"),
    seen("12 18:45", appetite="normal", faeces="normal", pain=[], demeanour="bright"),
    seen(
        "13 18:40",
        appetite="normal",
        faeces="normal",
        demeanour="bright",
        wound_swelling="mild",
        wound_edges="closed",
        wound_interference="none",
        scrotum_or_groin="mild_swelling",
    ),
    seen("14 18:40", appetite="normal", faeces="normal", demeanour="bright", scrotum_or_groin="normal"),
    seen("15 18:40", appetite="normal", faeces="normal", demeanour="bright"),
    seen("17 18:40", appetite="normal", faeces="normal", demeanour="bright", weight=885),
    seen("20 18:40", appetite="normal", faeces="normal", demeanour="bright", wound_swelling="none"),
    seen("22 18:40", appetite="normal", faeces="normal", demeanour="bright"),
    seen("23 18:40", appetite="normal", faeces="normal", demeanour="bright", wound_swelling="mild"),
]
DOE = rabbit(
    last_ate_before_discharge_at=at("2025-03-10 16:00"), last_faeces_before_discharge_at=at("2025-03-10 07:30")
)
DOE_FIRST_EVENING = seen(
    "10 20:50",
    ate="10 19:30",
    appetite="less",
    faeces="none",
    demeanour="quiet",
    pain=["hunched", "half_closed_eyes", "reluctant_to_move"],
    warmth="warm",
    breathing="normal",
    urine="normal",
)
DOE_ANSWERS = [
    DOE_FIRST_EVENING,
    seen("11 07:35", appetite="less", faeces="fewer", dropped="11 06:00", pain=["hunched"], demeanour="quiet"),
    seen("11 18:40", appetite="less", faeces="fewer", pain=["half_closed_eyes"], demeanour="quiet"),
    seen("12 07:40", appetite="less", faeces="fewer", pain=[], demeanour="bright"),
    seen("12 18:40", appetite="normal", faeces="normal", demeanour="bright"),
    seen("13 18:40", appetite="normal", faeces="normal", demeanour="bright", wound_swelling="none"),
    seen("14 18:40", appetite="normal", faeces="normal"),
    seen("15 18:40", appetite="normal", faeces="normal"),
    seen("17 18:40", appetite="normal", faeces="normal"),
    seen("19 18:40", appetite="normal", faeces="normal", wound_swelling="mild"),
    seen("20 18:40", appetite="normal", faeces="normal"),
    seen("22 18:40", appetite="normal", faeces="normal"),
]
QUARTER = dt.timedelta(minutes=15)


def worst(case, observations, first: str, last: str) -> tuple[Level, list[tuple[str | None, list[str]]]]:
    """The worst level at any quarter of an hour, and when and why it was above monitor."""
    moment, found = when(first), []
    level = Level.ON_TRACK

    whole = recovery(case, observations)
    while moment <= when(last):
        findings = findings_at(whole.until(moment), moment)
        now = max((each.level for each in findings), default=Level.ON_TRACK)
        if now > Level.MONITOR:
            found.append((clock(moment), [each.rule for each in findings if each.level > Level.MONITOR]))
        level = max(level, now)
        moment += QUARTER
    return level, found


def test_a_normal_guinea_pig_castration_stays_quiet():
    level, loud = worst(PIG, PIG_ANSWERS, "10 16:45", "24 11:00")

    assert loud == []
    assert level is Level.MONITOR


def test_a_small_firm_lump_on_day_thirteen_is_on_the_list():
    found = verdict(PIG, PIG_ANSWERS, "23 18:45")

    assert [(each.rule, each.level.word) for each in found.findings] == [("swelling_mild", "monitor")]


def test_a_normal_rabbit_spay_is_only_ever_urgent_while_everybody_sleeps():
    _, loud = worst(DOE, DOE_ANSWERS, "10 17:15", "24 11:00")

    # Droppings reach 18 h at 05:00; the answer of 07:35 settles it.
    assert loud == [
        (f"11 0{hour}:{quarter:02}", ["hours_without_faeces"])
        for hour, quarter in [(h, q) for h in (5, 6, 7) for q in (0, 15, 30, 45) if (h, q) <= (7, 30)]
    ]


def test_a_dull_hunched_rabbit_that_stopped_eating_is_an_emergency_that_evening():
    told = [seen("10 18:45", appetite="none", ate="10 16:00", demeanour="dull", pain=["hunched", "belly_pressing"])]

    assert verdict(DOE, told, "10 18:45").level is Level.MONITOR
    assert clock(verdict(DOE, told, "10 18:45").look_again_at) == "10 21:00"
    assert verdict(DOE, told, "10 21:00").level is Level.EMERGENCY
    at_bedtime = [seen("10 20:45", appetite="none", ate="10 16:00", demeanour="dull", pain=["hunched"])]
    assert verdict(DOE, at_bedtime, "10 20:45").level is Level.EMERGENCY


@pytest.mark.parametrize("first", ["10 19:00", "10 20:45"])
def test_a_rabbit_that_takes_a_few_bites_each_time_is_urgent_by_waking_and_an_emergency_in_the_afternoon(first):
    bites = [seen(time, appetite="a_few_bites", faeces="fewer") for time in (first, "11 07:30", "11 12:00")]

    assert verdict(DOE, bites[:1], "11 07:30").level >= Level.URGENT
    assert verdict(DOE, bites, "11 17:00").level is Level.EMERGENCY


def test_a_bright_guinea_pig_that_ate_nothing_since_three_is_urgent_and_at_sleep_an_emergency():
    told = [seen("10 20:45", appetite="none", ate="10 15:00", faeces="normal", demeanour="bright")]

    found = verdict(PIG, told, "10 20:45")
    assert found.level is Level.URGENT
    assert "phone before going to bed" in found.findings[0].because
    assert clock(found.look_again_at) == "10 22:00"
    assert verdict(PIG, told, "10 22:00").level is Level.EMERGENCY
