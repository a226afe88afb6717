"""A plan that changes while it runs: a new weight, another dose, a stop, a longer course, other hours."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from followup.domain.compiled import CompiledPlan
from followup.domain.hours import OwnerHours
from followup.domain.revising import Rules, Standing, Wanted, new_problems, revise_plan
from followup.domain.terms import ProblemKind
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.recoveries import at, clock, found, guinea_pig, meloxicam, plan_of

CASE = guinea_pig(home_medication=(meloxicam(days=4),))
RULES = Rules(load("guinea_pig_castration"), formulary())
NOW = at("2025-03-12 12:00")
"""Two doses are over, those of the 11th and 12th at 10:00; two are to come."""

GAVE_BOTH = {("meloxicam", 1): at("2025-03-11 10:00"), ("meloxicam", 2): at("2025-03-12 10:00")}


def before() -> CompiledPlan:
    return plan_of(CASE)


def revised(*wanted: Wanted, case=CASE, now=NOW, over=None, asks_anew=False) -> CompiledPlan:
    standing = Standing(before(), now, GAVE_BOTH if over is None else over, asks_anew)
    return revise_plan(case, wanted, standing, RULES)


def as_before(**changes) -> Wanted:
    return Wanted(meloxicam(days=2, **changes), keeps_times=True, doses=2)


def doses(plan: CompiledPlan, drug: str = "meloxicam") -> list[tuple[int, str, str]]:
    (medicine,) = [each for each in plan.medication if each.drug == drug]
    return [(dose.number, clock(dose.at), f"{dose.ml}") for dose in medicine.doses]


def test_nothing_changed_changes_nothing():
    plan = revised(as_before())
    assert doses(plan) == doses(before())
    assert (plan.check_ins, plan.restrictions, plan.sign_off_at) == (
        before().check_ins,
        before().restrictions,
        before().sign_off_at,
    )
    assert plan.cover == before().cover
    assert new_problems(before(), plan) == ()


def test_a_new_weight_changes_the_volumes_to_come_and_not_the_baseline():
    """900 g: 0.09 mg = 0.18 ml; 820 g: 0.082 mg = 0.164 ml, nearest mark 0.16."""
    plan = revised(as_before(), case=replace(CASE, dosing_weight_g=820))
    assert [ml for _, _, ml in doses(plan)] == ["0.18", "0.18", "0.16", "0.16"]
    assert plan.medication[0].total_ml == Decimal("0.4")  # 0.32 and a tenth, rounded up
    assert plan.weight_alerts == before().weight_alerts
    assert plan.feeding.resting_energy_kcal_per_day < before().feeding.resting_energy_kcal_per_day


def test_a_changed_dose_comes_one_interval_after_the_last_one():
    plan = revised(Wanted(meloxicam(0.2, days=3)))
    assert doses(plan) == [
        (1, "03-11 10:00", "0.18"),
        (2, "03-12 10:00", "0.18"),
        (3, "03-13 10:00", "0.36"),
        (4, "03-14 10:00", "0.36"),
        (5, "03-15 10:00", "0.36"),
    ]


def test_a_dose_that_was_told_late_counts_from_when_it_was_given():
    late = {**GAVE_BOTH, ("meloxicam", 2): at("2025-03-12 15:00")}
    plan = revised(Wanted(meloxicam(0.2, days=1)), now=at("2025-03-12 16:00"), over=late)
    assert doses(plan)[2][1] == "03-13 15:00"


def test_after_a_missed_dose_the_changed_one_is_due_at_once():
    missed = {("meloxicam", 1): at("2025-03-11 10:00"), ("meloxicam", 2): None}
    plan = revised(Wanted(meloxicam(0.2, days=2)), over=missed)
    assert [when for _, when, _ in doses(plan)][2:] == ["03-12 12:00", "03-13 12:00"]
    assert ("03-12 10:00", "03-12 12:00") in [(clock(gap.starts), clock(gap.ends)) for gap in plan.cover.gaps]


def test_a_longer_course_keeps_its_times_and_warns_as_the_whole_course_would():
    """Clinic's day, two behind, four to come: 7 days in all; from the 6th a vet must confirm."""
    plan = revised(Wanted(meloxicam(days=4), keeps_times=True, doses=4))
    assert [when for _, when, _ in doses(plan)][-1] == "03-16 10:00"
    assert "$.home_medication[0].days" in found(new_problems(before(), plan), ProblemKind.NEEDS_VET)


def test_a_stopped_medicine_keeps_what_is_over_and_nothing_more():
    plan = revised()
    assert [number for number, _, _ in doses(plan)] == [1, 2]
    assert clock(plan.cover.intervals[-1].ends) == "03-13 10:00"


def test_a_new_medicine_begins_an_hour_from_now_and_an_nsaid_not_within_a_day_of_the_last():
    simethicone = replace(meloxicam(None), drug="metoclopramide", every_hours=12, mg_per_kg=0.5, mg_per_ml=1, days=1)
    plan = revised(as_before(), Wanted(simethicone))
    assert doses(plan, "metoclopramide")[0][1] == "03-12 19:00"  # 13:00 and 01:00: one is asleep, so waking and 12 h on
    other = replace(meloxicam(1), drug="carprofen", mg_per_ml=50)
    plan = revised(Wanted(other))
    assert doses(plan, "carprofen")[0][:2] == (1, "03-13 10:00")
    assert "$.home_medication[0].drug" in found(plan.problems, ProblemKind.NEEDS_VET)


def test_what_nobody_told_of_counts_as_taken_for_the_spacing():
    plan = revised(Wanted(meloxicam(0.2, days=1)), over=dict(GAVE_BOTH), now=at("2025-03-12 10:30"))
    assert doses(plan)[2][1] == "03-13 10:00"


def test_two_nsaids_are_refused_whatever_was_there_before():
    plan = revised(as_before(), Wanted(replace(meloxicam(1), drug="carprofen", mg_per_ml=50)))
    assert found(plan.problems, ProblemKind.REFUSED) == ["$.home_medication[1].drug"]


NEW_YORK = OwnerHours(ZoneInfo("America/New_York"))


def test_an_owner_who_moves_zones_is_recomputed_from_now_on():
    """10:00 in London on 13 March is 06:00 in New York, which changed its clocks on 9 March: asleep, so 07:00."""
    plan = revised(as_before(), case=replace(CASE, hours=NEW_YORK), asks_anew=True)
    to_come = [dose.at.astimezone(NEW_YORK.zone) for dose in plan.medication[0].doses[2:]]
    assert [f"{each:%m-%d %H:%M}" for each in to_come] == ["03-13 07:00", "03-14 07:00"]
    asked = [each for each in plan.check_ins if each.at <= NOW]
    assert asked == [each for each in before().check_ins if each.at <= NOW]
    later = {f"{each.at.astimezone(NEW_YORK.zone):%H:%M}" for each in plan.check_ins if each.at > NOW}
    assert later == {"18:30"}
    assert [each.day for each in plan.check_ins] == [each.day for each in before().check_ins]
    assert f"{plan.sign_off_at.astimezone(NEW_YORK.zone):%m-%d %H:%M}" == "03-24 12:00"


def test_day_0_stays_the_day_of_surgery_when_the_owner_crosses_the_date_line():
    """Surgery ended on 10 March, 10:30 in London; in Auckland that was 23:30, in Kiritimati 00:30 on the 11th."""
    kiritimati = OwnerHours(ZoneInfo("Pacific/Kiritimati"))
    moved = replace(CASE, hours=kiritimati, operated_on=dt.date(2025, 3, 10))
    plan = revised(as_before(), case=moved, asks_anew=True)
    assert f"{plan.wound_reviews[0].at.astimezone(kiritimati.zone):%m-%d %H:%M}" == "03-13 12:00"
    assert f"{plan.sign_off_at.astimezone(kiritimati.zone):%m-%d}" == "03-24"


def test_a_check_in_that_was_asked_is_not_asked_again_after_a_move():
    """Asked at 18:30 in London; in Lisbon, the same clock, and in Paris, an hour on, that evening is over."""
    now = at("2025-03-11 18:40")
    over = {("meloxicam", 1): at("2025-03-11 10:00")}
    for zone in ("Europe/Lisbon", "Europe/Paris", "America/New_York"):
        case = replace(CASE, hours=OwnerHours(ZoneInfo(zone)))
        plan = revised(
            Wanted(meloxicam(days=3), keeps_times=True, doses=3), case=case, now=now, over=over, asks_anew=True
        )
        evenings = [each for each in plan.check_ins if (each.day, each.kind) == (1, "evening")]
        assert [clock(each.at) for each in evenings] == ["03-11 18:30"]


def test_a_check_in_to_come_keeps_its_distance_from_the_one_that_was_asked():
    """Asked at 07:30; the owner now wakes at 08:00, and 08:30 on a day already asked would be an hour later."""
    now = at("2025-03-12 07:40")
    early = OwnerHours(ZoneInfo("Europe/London"), wakes=dt.time(7), sleeps=dt.time(9, 30))
    over = {("meloxicam", 1): at("2025-03-11 10:00")}
    case = replace(CASE, hours=early)
    plan = revised(Wanted(meloxicam(days=1), keeps_times=True, doses=1), case=case, now=now, over=over, asks_anew=True)
    following = [each.at for each in plan.check_ins if each.at > now]
    assert clock(following[0]) == "03-13 08:15"  # bedtime of the 12th, 08:15, is 45 minutes after the last one


def test_home_again_is_asked_that_evening():
    case = replace(CASE, discharged_at=at("2025-03-14 15:00"), given_in_clinic=CASE.given_in_clinic)
    plan = revised(as_before(), case=case, now=at("2025-03-14 15:00"), asks_anew=True)
    following = [each for each in plan.check_ins if each.at > at("2025-03-14 15:00")]
    assert clock(following[0].at) == "03-14 18:30"
    assert clock(plan.medication[0].doses[2].at) == "03-14 15:00"


@pytest.mark.parametrize("minute", range(0, 60, 13))
def test_the_past_is_never_touched(minute):
    plan = revised(as_before(), case=replace(CASE, dosing_weight_g=700), now=NOW + dt.timedelta(minutes=minute))
    assert plan.medication[0].doses[:2] == before().medication[0].doses[:2]
