"""A machine's clock that was set: counted once, said, and nothing is given up or left unsent by it."""

from __future__ import annotations

import datetime as dt
import threading

import pytest
from django.db import connection

from clinic import clock
from clinic.steady import SteadyClock
from followup.models import Count, Heartbeat, Installation, Message, Task
from followup.services.clock_guard import ClockState, clock_state, expiry_waits
from followup.services.gaps import begin, end
from followup.services.tick import tick
from followup.tasks import tick as task
from tests import world
from tests.services.post import EVENING, Post, message, nothing_waits, state

SECOND, MINUTE, HOUR = dt.timedelta(seconds=1), dt.timedelta(minutes=1), dt.timedelta(hours=1)
JUMPED, SET_BACK = "clock_jumped", "clock_set_back"

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def counted() -> tuple[int, int]:
    return Count.objects.of(JUMPED), Count.objects.of(SET_BACK)


def test_a_step_is_counted_once_and_logged_once_however_many_ticks_see_it(caplog):
    for number in range(40):
        tick(now=EVENING + number * 15 * SECOND, off_by=6 * HOUR + number * SECOND / 10, choose=Post())

    assert counted() == (1, 0)
    assert [line.getMessage() for line in caplog.records if "off the time" in line.getMessage()] == [
        "this machine is 6:00:00 off the time that the ticks go by"
    ]


def test_back_is_another_count_and_a_further_step_counts_again():
    for number, off_by in enumerate([-HOUR, -HOUR, -3 * HOUR, 2 * HOUR]):
        tick(now=EVENING + number * MINUTE, off_by=off_by, choose=Post())

    assert counted() == (1, 2)


def test_a_clock_that_was_right_for_a_while_and_is_set_again_counts_again():
    for minutes in (0, 1, 7):
        tick(now=EVENING + minutes * MINUTE, off_by=HOUR, choose=Post())

    assert counted() == (2, 0)


def test_less_than_a_minute_is_nothing():
    tick(now=EVENING, off_by=59 * SECOND, choose=Post())

    assert (counted(), clock_state(EVENING)) == ((0, 0), ClockState())


@pytest.mark.parametrize(
    ("off_by", "words"),
    [(6 * HOUR, "6 h 0 min ahead of"), (-90 * SECOND, "1 min behind"), (-3 * HOUR - 5 * MINUTE, "3 h 5 min behind")],
)
def test_a_banner_says_how_far_and_goes_when_no_tick_says_it_again(off_by, words):
    tick(now=EVENING, off_by=off_by, choose=Post())

    assert f"is {words} the time" in clock_state(EVENING + 4 * MINUTE).words
    assert clock_state(EVENING + 6 * MINUTE).words == ""


def test_before_any_tick_nothing_is_known_of_a_clock():
    assert clock_state(EVENING) == ClockState()


@pytest.fixture
def waiting() -> Message:
    """Queued at 18:30, worth sending for ten minutes."""
    plan = world.running_plan()
    return message(plan, to=nothing_waits(plan), expires_at=EVENING + 10 * MINUTE)


def test_set_back_by_an_hour_it_alarms_goes_on_sending_and_beats(waiting):
    tick(now=EVENING + HOUR - MINUTE, choose=Post())
    fresh = message(waiting.plan, to=waiting.recipient, key="fresh", now=EVENING - HOUR)
    post = Post()

    for number in range(3):
        tick(now=EVENING - HOUR + number * 15 * SECOND, choose=post)

    assert counted() == (0, 1)
    assert len(post.letters) == 1
    assert state(fresh) == Message.State.SENT
    assert Heartbeat.objects.last_of("tick") == EVENING - HOUR + 30 * SECOND


@pytest.mark.parametrize("paused", [False, True])
def test_nothing_is_given_up_until_the_clock_has_caught_up(waiting, paused):
    Message.objects.update(not_before=EVENING + 10 * MINUTE)  # kept back until its end
    tick(now=EVENING + 9 * MINUTE + 59 * SECOND, choose=Post())
    Message.objects.update(not_before=EVENING - 20 * MINUTE, due_at=EVENING - 20 * MINUTE, expires_at=EVENING)
    tick(now=EVENING, choose=Post())

    type(waiting.practice).objects.update(messages_paused=paused)
    tick(now=EVENING + 9 * MINUTE, choose=Post())
    assert (state(waiting), expiry_waits(EVENING + 9 * MINUTE)) == (Message.State.READY, True)

    tick(now=EVENING + 10 * MINUTE, choose=Post())
    assert state(waiting) == Message.State.EXPIRED
    assert Task.objects.filter(kind=Task.Kind.PHONE).count() == 1


def test_after_a_clock_that_was_days_ahead_a_person_hears_within_an_hour(waiting):
    tick(now=EVENING - MINUTE, choose=Post())
    Installation.objects.update(last_tick_at=EVENING + 40 * 24 * HOUR)
    tick(now=EVENING, choose=Post())

    assert clock_state(EVENING).expiry_waits_until == EVENING + HOUR
    assert not expiry_waits(EVENING + HOUR)


@pytest.mark.parametrize(("back", "alarms"), [(60, 0), (61, 1)])
def test_a_minute_back_is_a_correction(back, alarms):
    tick(now=EVENING, choose=Post())
    tick(now=EVENING - back * SECOND, choose=Post())

    assert counted() == (0, alarms)


def test_a_demo_whose_clock_was_moved_on_and_back_by_hand_raises_no_alarm():
    tick(now=EVENING + 9 * HOUR, moved_on=9 * HOUR, choose=Post())
    tick(now=EVENING + SECOND, choose=Post())

    assert counted() == (0, 0)


@pytest.mark.django_db(transaction=True)
def test_of_two_that_see_a_step_at_once_one_counts_it():
    a_first_tick(EVENING + 3 * HOUR)
    gate = threading.Barrier(2)

    def work() -> None:
        try:
            gate.wait()
            begin(now=EVENING, off_by=6 * HOUR)
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)

    assert counted() == (1, 1)  # the jump, and that it had been later already


def a_first_tick(moment: dt.datetime) -> None:
    Installation.objects.this()
    end(now=moment)


def machine_off_by(length: dt.timedelta, *, since: dt.timedelta = dt.timedelta(0)) -> SteadyClock:
    """A process that began while its machine was `since` off, and whose machine is `length` off by now."""
    real, off = SteadyClock(), [since]
    made = SteadyClock(lambda: real.read().steady + off[0], lambda: dt.timedelta(0))
    off[0] = length
    return made


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no clock of its own")
@pytest.mark.parametrize(
    ("length", "since"),
    [(6 * HOUR, dt.timedelta(0)), (-HOUR, -HOUR), (dt.timedelta(0), -2 * HOUR), (40 * 24 * HOUR, 40 * 24 * HOUR)],
)
def test_a_tick_goes_by_the_databases_clock_and_a_page_by_its_own(monkeypatch, length, since):
    monkeypatch.setattr(clock, "machine", machine_off_by(length, since=since))
    real = SteadyClock().read().steady

    assert abs(clock.for_the_tick() - real) < 10 * SECOND
    assert abs(clock.now() - (real + since)) < 10 * SECOND
    assert abs(clock.off_by() - (length or since)) < 10 * SECOND


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no clock of its own")
def test_a_machine_within_a_minute_of_its_database_goes_by_itself(monkeypatch):
    monkeypatch.setattr(clock, "machine", machine_off_by(30 * SECOND, since=30 * SECOND))

    assert clock.for_the_tick() == pytest.approx(clock.now(), abs=SECOND)
    assert clock.off_by() == dt.timedelta(0)


def test_on_sqlite_a_step_is_measured_against_what_the_process_began_with(monkeypatch):
    if connection.vendor == "postgresql":
        pytest.skip("there the database tells")
    monkeypatch.setattr(clock, "machine", machine_off_by(-6 * HOUR))

    assert clock.off_by() == pytest.approx(-6 * HOUR, abs=SECOND)
    assert clock.for_the_tick() == pytest.approx(clock.now(), abs=SECOND)


def test_the_task_hands_the_tick_what_the_clock_says(monkeypatch):
    monkeypatch.setattr(clock, "machine", machine_off_by(6 * HOUR))

    task()

    assert counted() == (1, 0)
    assert Heartbeat.objects.last_of("tick") == pytest.approx(SteadyClock().read().steady, abs=MINUTE)
