"""The clocks of section 6: the worked table, and what moves a clock and what does not."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.answers import Question
from followup.domain.clocks import clock_of
from followup.domain.observation import Observation, Told
from followup.domain.terms import Concern, Level, Sign
from tests.domain.triage_cases import clock, recovery, seen, verdict, when
from tests.recoveries import at, guinea_pig

WORKED = guinea_pig(
    surgery_ended_at=at("2025-03-10 11:00"),
    discharged_at=at("2025-03-10 15:00"),
    last_ate_before_discharge_at=at("2025-03-10 13:00"),
    last_faeces_before_discharge_at=at("2025-03-10 14:00"),
)
NOTHING_KNOWN = guinea_pig(
    surgery_ended_at=at("2025-03-10 11:00"),
    discharged_at=at("2025-03-10 15:00"),
    last_ate_before_discharge_at=None,
)
A_NORMAL_FIRST_DAY = [seen("10 20:45", appetite="normal"), seen("11 07:30", appetite="normal")]


def in_hours(found):
    food = found.signals.without[Sign.FOOD]
    assert food is not None
    return food.in_hours()


def eating(found) -> Level:
    return max((each.level for each in found.findings if each.concern is Concern.EATING), default=Level.ON_TRACK)


@pytest.mark.parametrize(
    ("case", "observations", "now", "hours", "level"),
    [
        (WORKED, [seen("10 20:45", appetite="normal")], "11 09:00", (0, 0), "on_track"),
        (WORKED, [seen("10 18:30", appetite="none")], "10 18:30", (0, 5.5), "monitor"),
        (WORKED, [seen("10 18:30", appetite="none")], "10 19:00", (0.5, 6), "monitor"),
        (WORKED, [seen("10 18:30", appetite="none")], "10 19:59", (1.48, 6.98), "monitor"),
        (WORKED, [seen("10 18:30", appetite="none")], "10 20:00", (1.5, 7), "urgent"),
        (WORKED, [seen("10 18:30", appetite="none", ate="10 17:00")], "10 20:59", (3.98, 3.98), "monitor"),
        (WORKED, [seen("10 18:30", appetite="none", ate="10 17:00")], "10 21:00", (4, 4), "urgent"),
        (WORKED, [seen("10 18:30", appetite="none", ate="10 17:00")], "10 22:00", (5, 5), "emergency"),
        (WORKED, [seen("10 18:30", unsure=["appetite"])], "10 20:45", (0, 7.75), "urgent"),
        (NOTHING_KNOWN, [seen("10 18:30", appetite="none")], "10 18:30", (7.5, 7.5), "urgent"),
        (NOTHING_KNOWN, [seen("10 18:30", appetite="none")], "10 21:00", (10, 10), "emergency"),
        (
            WORKED,
            [*A_NORMAL_FIRST_DAY, seen("11 18:30", appetite="less", ate="11 08:00")],
            "11 18:30",
            (10.5, 10.5),
            "urgent",
        ),
    ],
)
def test_the_worked_table(case, observations, now, hours, level):
    found = verdict(case, observations, now)

    assert in_hours(found) == hours
    assert eating(found).word == level


def test_the_possible_limit_says_that_it_is_possible():
    found = verdict(WORKED, [seen("10 18:30", appetite="none")], "10 19:00")

    food = next(each for each in found.findings if each.rule == "hours_without_food")
    assert food.certainty.value == "possible"
    assert food.because.startswith("no food for 0.5 to 6 h; 6 h or more is urgent, and is possible")


def test_a_good_answer_stops_the_clock_and_silence_does_not_run_it():
    answered = [seen("10 18:30", appetite="none"), seen("10 20:45", appetite="less")]

    assert not clock_of(recovery(WORKED, answered), Sign.FOOD).runs
    assert in_hours(verdict(WORKED, answered, "11 06:00")) == (0, 0)


def test_a_few_bites_stop_the_food_clock_but_not_the_meal_clock():
    found = recovery(WORKED, [seen("10 18:30", appetite="a_few_bites", ate="10 18:00")])

    assert not clock_of(found, Sign.FOOD).runs
    assert clock_of(found, Sign.MEAL).known.earliest == when("10 13:00")


def test_a_told_time_earlier_than_what_is_known_does_not_move_the_clock_back():
    found = recovery(WORKED, [seen("10 18:30", appetite="none", ate="10 12:00")])

    # The owner knows of none since noon, and the clinic saw it eat at one: six hours for certain.
    assert clock_of(found, Sign.FOOD).reading(when("10 19:00")).in_hours() == (6, 6)


def test_before_the_moment_at_which_it_is_known_a_clock_reads_nothing():
    """Asked, an hour after waking, what had been reached at waking: she has eaten since."""
    found = recovery(WORKED, [seen("10 18:30", appetite="none", ate="10 18:00")])

    assert clock_of(found, Sign.FOOD).reading(when("10 17:00")).in_hours() == (0, 0)


def test_a_told_time_before_surgery_counts_as_the_end_of_surgery():
    found = recovery(NOTHING_KNOWN, [seen("10 18:30", appetite="none", ate="10 07:00")])

    assert clock_of(found, Sign.FOOD).reading(when("10 18:30")).in_hours() == (7.5, 7.5)


def test_a_time_told_between_two_moments_keeps_both():
    told = Told(when("10 16:00"), when("10 18:00"))
    vague = Observation(at=when("10 18:30"), answers=seen("10 18:30", appetite="none").answers, told={Sign.FOOD: told})

    assert clock_of(recovery(WORKED, [vague]), Sign.FOOD).reading(when("10 20:00")).in_hours() == (2, 4)


def test_none_again_and_not_sure_do_not_restart_the_run():
    said = [seen("10 18:30", appetite="none"), seen("10 19:30", unsure=["appetite"]), seen("10 20:30", appetite="none")]

    assert clock_of(recovery(WORKED, said), Sign.FOOD).first_none == when("10 18:30")


def test_a_clock_that_stands_at_its_lowest_limit_at_discharge_runs():
    case = guinea_pig(
        surgery_ended_at=at("2025-03-10 09:00"),
        discharged_at=at("2025-03-10 15:30"),
        last_ate_before_discharge_at=None,
    )

    assert clock_of(recovery(case), Sign.FOOD).reading(when("10 18:00")).in_hours() == (9, 9)


def test_the_look_again_moment_is_when_the_hour_of_asking_is_over():
    found = verdict(WORKED, [seen("10 18:30", appetite="none")], "10 18:30")

    assert clock(found.look_again_at) == "10 20:00"


def test_a_clock_change_does_not_lengthen_an_hour():
    case = guinea_pig(
        surgery_ended_at=at("2025-03-29 17:00"),
        discharged_at=at("2025-03-29 19:00"),
        last_ate_before_discharge_at=at("2025-03-29 18:00"),
    )
    told = [
        Observation(
            at=at("2025-03-30 07:30"),
            answers=seen("10 18:30", appetite="none").answers,
            told={Sign.FOOD: Told.exactly(at("2025-03-29 22:30"))},
        )
    ]

    # 22:30 GMT to 07:30 BST: nine hours on the wall, eight in the animal.
    reading = clock_of(recovery(case, told), Sign.FOOD).reading(at("2025-03-30 07:30"))
    assert reading.at_most == dt.timedelta(hours=8)


@pytest.mark.parametrize(("ate", "runs"), [("11 12:30", True), ("11 12:31", False)])
def test_a_good_answer_with_a_time_six_hours_back_counts_as_none(ate, runs):
    found = recovery(WORKED, [*A_NORMAL_FIRST_DAY, seen("11 18:30", appetite="less", ate=ate)])

    assert clock_of(found, Sign.FOOD).runs is runs


def vaguely(text: str, earliest: str, latest: str, appetite: str) -> Observation:
    told = {Sign.FOOD: Told(when(earliest), when(latest))}
    return Observation(at=when(text), answers={Question.APPETITE: appetite}, told=told)


def test_he_eats_and_this_afternoon_is_no_hour():
    """A good answer whose vague time may be six hours back stands: possible, and an hour of waiting adds nothing."""
    told = [*A_NORMAL_FIRST_DAY, vaguely("11 18:30", "11 12:00", "11 18:30", appetite="normal")]
    clock = clock_of(recovery(WORKED, told), Sign.FOOD)

    assert (clock.runs, clock.reading(when("11 20:45")).in_hours()) == (False, (0, 6.5))
    assert eating(verdict(WORKED, told, "11 18:30")) is Level.MONITOR
    assert eating(verdict(WORKED, told, "11 20:30")) is Level.MONITOR
    assert "0 to 6.5 h" in verdict(WORKED, told, "11 18:30").findings[0].because


def test_a_good_answer_whose_latest_time_is_six_hours_back_counts_as_none():
    told = [*A_NORMAL_FIRST_DAY, vaguely("11 18:30", "11 07:00", "11 12:00", appetite="normal")]
    clock = clock_of(recovery(WORKED, told), Sign.FOOD)

    assert (clock.runs, clock.reading(when("11 18:30")).in_hours()) == (True, (6.5, 11))  # it had eaten at 07:30
    assert eating(verdict(WORKED, told, "11 18:30")) is Level.URGENT


@pytest.mark.parametrize(
    ("ate", "hours"), [("11 13:00", (5.5, 5.5)), ("11 12:00", (6.5, 6.5)), ("11 09:00", (6.5, 6.5))]
)
def test_an_hour_told_later_makes_a_vague_time_exact_and_never_moves_it_back(ate, hours):
    told = [*A_NORMAL_FIRST_DAY, vaguely("11 16:00", "11 12:00", "11 15:00", appetite="normal")]
    none = [*told, seen("11 18:30", appetite="none", ate=ate)]

    assert clock_of(recovery(WORKED, none), Sign.FOOD).reading(when("11 18:30")).in_hours() == hours


@pytest.mark.parametrize(("good_at", "runs"), [("10 18:45", True), ("10 19:00", True), ("10 19:01", False)])
def test_a_good_answer_within_half_an_hour_of_none_contradicts_it_and_the_worse_stands(good_at, runs):
    told = [seen("10 18:30", appetite="none"), seen(good_at, appetite="normal")]

    assert clock_of(recovery(WORKED, told), Sign.FOOD).runs is runs
    before = [seen("10 18:10", appetite="normal"), seen("10 18:30", appetite="none")]
    assert clock_of(recovery(WORKED, before), Sign.FOOD).reading(when("10 19:00")).in_hours() == (0.5, 6)
