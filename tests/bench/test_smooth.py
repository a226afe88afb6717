"""The simulation of smooth recoveries: seeded, in step with what is published, and nothing in it is put in by hand."""

from __future__ import annotations

import dataclasses
import datetime as dt
import random

import pytest

from followup.domain.answers import Question
from followup.domain.case import Case
from followup.domain.observation import Observation
from followup.domain.terms import Level
from tests.bench.smooth import owners, run
from tests.bench.smooth.assumed import PROCEDURE_MIX, SPECIES_MIX
from tests.bench.smooth.misreported import (
    GRADES,
    PUBLISHED_KAPPA,
    SPECIFIC,
    Errors,
    errors_for,
    kappa,
)
from tests.bench.smooth.owners import Answering
from tests.bench.smooth.patients import patient_case
from tests.bench.smooth.printed import figures
from tests.bench.smooth.run import Lived, lived, owners_errors, simulated, told_grades

SEED, FEW = 11, 30
TRUE = Errors(0, 0)


@pytest.fixture(scope="module")
def found() -> tuple[Lived, ...]:
    return simulated(FEW, SEED, owners_errors(SEED), processes=1)


def test_one_seed_gives_the_same_numbers_twice_and_in_any_number_of_processes(found):
    assert simulated(FEW, SEED, owners_errors(SEED), processes=2) == found


def test_another_seed_gives_others(found):
    assert figures(simulated(8, SEED + 1, owners_errors(SEED), processes=1)) != figures(found[:8])


def test_what_owners_tell_agrees_with_the_truth_as_much_as_is_published():
    low, high = PUBLISHED_KAPPA
    for end in (None, SPECIFIC):
        errors = owners_errors(SEED, end=end)
        told = [each for number in range(600) for each in told_grades(number, SEED, errors)]

        assert low <= kappa((true, said, 1) for true, said, _ in told) <= high, (end, len(told))


def test_kappa_as_in_a_textbook():
    # 20 and 15 agree, 5 and 10 do not: observed 0.7, expected 0.5 x 0.6 + 0.5 x 0.4 = 0.5, kappa 0.4.
    assert kappa([(0, 0, 20), (0, 1, 5), (1, 0, 10), (1, 1, 15)]) == pytest.approx(0.4)


def test_owners_tell_lower_more_often_than_higher_and_are_good_at_nothing():
    spread = [(0, 3)] * 70 + [(1, 3)] * 20 + [(2, 3)] * 8 + [(3, 3)] * 2
    errors = errors_for(spread)

    lower, higher = errors.chances(1, 3)
    assert lower == pytest.approx(3 * higher)
    assert errors.chances(0, 3)[1] == pytest.approx(errors.between / 4)
    assert errors.chances(2, 3)[1] <= errors.at_an_end  # nothing slight is taken for the most severe more often


def test_an_error_is_never_more_than_one_grade_off():
    rng, errors = random.Random(1), Errors(0.5, 1)
    for question, grades in GRADES.items():
        for place, true in enumerate(grades):
            said = {errors.told(question, true, rng) for _ in range(200)}
            assert said <= set(grades[max(place - 1, 0) : place + 2])
    assert {errors.told(Question.SWELLING, "soft_bulge", rng) for _ in range(50)} == {"soft_bulge"}


@pytest.mark.parametrize(("day", "share"), [(0, 0.85), (7, 0.68), (14, 0.60)])
def test_owners_answer_as_often_and_as_soon_as_the_goals_say(day, share):
    rng = random.Random(day)
    hours = dataclasses.replace(patient_case(rng).hours, wakes=dt.time(0), sleeps=dt.time(23, 59))
    noon = dt.datetime(2025, 6, 2, 12, tzinfo=dt.UTC)
    delays = [
        found - noon
        for _ in range(20_000)
        if (found := Answering.one_of_them(hours, rng).answers_at(noon, day)) is not None
    ]

    assert len(delays) / 20_000 == pytest.approx(share, abs=0.015)
    assert sum(delay <= dt.timedelta(hours=1) for delay in delays) / len(delays) == pytest.approx(0.85, abs=0.015)


def test_the_mix_is_the_stated_one():
    rng = random.Random(5)
    cases = [patient_case(rng) for _ in range(4000)]

    assert sum(SPECIES_MIX.values()) == pytest.approx(1)
    assert sum(PROCEDURE_MIX.values()) == pytest.approx(1)
    for species, share in SPECIES_MIX.items():
        assert sum(each.patient.species is species for each in cases) / 4000 == pytest.approx(share, abs=0.03)
    for procedure, share in PROCEDURE_MIX.items():
        assert sum(each.procedure is procedure for each in cases) / 4000 == pytest.approx(share, abs=0.03)


def test_an_owner_who_never_answers_is_an_alert_without_a_completed_check_in():
    silent = lived(3, SEED, TRUE, answers=False)

    assert silent.completed == ()
    assert "silence" in {rule for _, _, rule in silent.alerts}


def case_of(number: int) -> Case:
    return patient_case(random.Random(f"{SEED}:{number}"))


def test_a_red_answer_put_in_by_hand_is_one_more_emergency():
    at = case_of(4).surgery_ended_at + dt.timedelta(days=5, hours=1)
    red = Observation(at=at, answers={Question.BREATHING: "laboured"})
    without, with_it = lived(4, SEED, TRUE), lived(4, SEED, TRUE, extra=[red])

    assert (5, Level.EMERGENCY, "laboured_breathing") not in without.alerts
    assert (5, Level.EMERGENCY, "laboured_breathing") in with_it.alerts


def test_the_same_red_answer_twice_opens_one_flag_once():
    at = case_of(4).surgery_ended_at + dt.timedelta(days=5, hours=1)
    red = [Observation(at=at + dt.timedelta(minutes=each), answers={Question.BREATHING: "laboured"}) for each in (0, 2)]

    rules = [rule for _, _, rule in lived(4, SEED, TRUE, extra=red).alerts]
    assert rules.count("laboured_breathing") == 1


def test_the_figures_follow_what_was_lived(found):
    doubled = figures([*found, *found])
    alerts, completed = sum(len(each.alerts) for each in found), sum(len(each.completed) for each in found)

    assert f"({alerts} alerts, {completed} completed check-ins)" in figures(found)[1]
    assert f"({2 * alerts} alerts, {2 * completed} completed check-ins)" in doubled[1]
    assert figures([dataclasses.replace(each, alerts=()) for each in found])[1].startswith(
        "alerts (a flag opened at or raised to urgent or emergency): 0.0 per 100"
    )


def test_owners_who_worry_without_cause_make_more_alerts(found, monkeypatch):
    monkeypatch.setattr(owners, "WORRIED", (("very", 1.0),))
    loud = tuple(run.lived(number, SEED, owners_errors(SEED)) for number in range(6))

    assert sum(len(each.alerts) for each in loud) > sum(len(each.alerts) for each in found[:6])
