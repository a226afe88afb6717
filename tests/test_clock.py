"""The one clock: steady while a process runs, however its machine's clock is set."""

from __future__ import annotations

import datetime as dt
import threading
import time
from dataclasses import dataclass

import pytest

from clinic import clock
from clinic.models import ClockOffset
from clinic.steady import SINCE_BOOT, Reading, SteadyClock
from clinic.steady import steady as clock_of_this_process

BEGAN = dt.datetime(2025, 3, 30, 0, 59, tzinfo=dt.UTC)
HOUR, MINUTE, SECOND = dt.timedelta(hours=1), dt.timedelta(minutes=1), dt.timedelta(seconds=1)


@dataclass
class Machine:
    """A machine whose clock can be set, and another that counts on."""

    wall: dt.datetime = BEGAN
    elapsed: dt.timedelta = 400 * HOUR

    def passes(self, length: dt.timedelta) -> None:
        self.wall += length
        self.elapsed += length

    def clock(self) -> SteadyClock:
        return SteadyClock(lambda: self.wall, lambda: self.elapsed)


@pytest.fixture
def machine() -> Machine:
    return Machine()


def test_without_a_step_it_is_the_machines_clock(machine):
    steady = machine.clock()
    machine.passes(14 * 24 * HOUR)

    assert steady.read() == Reading(machine.wall, dt.timedelta(0))


@pytest.mark.parametrize("step", [-HOUR, 6 * HOUR, 40 * 24 * HOUR, MINUTE, -MINUTE])
def test_a_step_is_reported_and_not_followed(machine, step):
    steady = machine.clock()
    machine.passes(HOUR)
    machine.wall += step
    machine.passes(5 * MINUTE)

    assert steady.read() == Reading(BEGAN + HOUR + 5 * MINUTE, step)


@pytest.mark.parametrize("step", [59 * SECOND, -59 * SECOND])
def test_a_correction_of_less_than_a_minute_is_followed(machine, step):
    steady = machine.clock()
    machine.wall += step

    assert steady.read() == Reading(BEGAN + step, dt.timedelta(0))


def test_corrections_do_not_add_up_to_a_step(machine):
    steady = machine.clock()
    for _ in range(5):
        machine.wall += 40 * SECOND
        machine.passes(HOUR)
        assert steady.read().step == dt.timedelta(0)

    assert steady.read().steady == BEGAN + 5 * HOUR + 200 * SECOND


def test_a_clock_that_is_set_right_again_is_followed_again(machine):
    steady = machine.clock()
    machine.wall += 6 * HOUR
    assert steady.read().step == 6 * HOUR
    machine.wall -= 6 * HOUR - 10 * SECOND

    assert steady.read() == Reading(BEGAN + 10 * SECOND, dt.timedelta(0))


def test_it_never_goes_back_by_more_than_a_correction_while_steps_go_on_between_threads(machine):
    steady, seen = machine.clock(), list[dt.datetime]()

    def look() -> None:
        for _ in range(300):
            seen.append(steady.read().steady)

    lookers = [threading.Thread(target=look) for _ in range(4)]
    for each in lookers:
        each.start()
    for hours in (-1, 6, 40, -100):
        machine.wall += hours * HOUR
        machine.passes(SECOND)
    for each in lookers:
        each.join()

    assert len(seen) == 1200
    assert set(seen) <= {BEGAN + number * SECOND for number in range(5)}


def test_the_clock_that_nobody_can_set_counts_while_the_machine_sleeps():
    if hasattr(time, "CLOCK_BOOTTIME"):
        assert SINCE_BOOT == time.CLOCK_BOOTTIME
    assert clock_of_this_process().timestamp() == pytest.approx(time.time(), abs=MINUTE.total_seconds())


@pytest.mark.django_db
def test_a_demo_is_ahead_by_its_offset_and_a_practice_never(settings, monkeypatch, machine):
    monkeypatch.setattr(clock, "machine", machine.clock())
    ClockOffset.objects.create(offset=6 * HOUR)

    assert (clock.now(), clock.moved_on()) == (BEGAN + 6 * HOUR, 6 * HOUR)

    settings.TESTING = settings.DEMO = False
    assert (clock.now(), clock.moved_on()) == (BEGAN, dt.timedelta(0))


@pytest.mark.django_db
def test_a_page_asks_the_database_nothing_for_the_time(settings, django_assert_num_queries):
    settings.TESTING = settings.DEMO = False

    with django_assert_num_queries(0):
        clock.now()
