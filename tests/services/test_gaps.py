"""Sending was down: written down once, and one call for each patient lists what did not go out."""

from __future__ import annotations

import datetime as dt
import threading

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from followup.models import CheckIn, Dose, Event, Gap, Heartbeat, Message, Plan, Task
from followup.models.gap import SETTLES
from followup.services.ask import MOST_AT_ONCE
from followup.services.gaps import begin, end
from followup.services.tick import tick
from tests import world
from tests.services.outages import HOUR, MINUTE, NOON, SECOND, STOPPED, down_until, people
from tests.services.post import Post, nothing_waits
from tests.world import at

BACK = at("22:30", day=1)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    nothing_waits(made)
    return made


def test_ten_minutes_without_a_tick_are_no_gap_and_a_second_more_is():
    tick(now=NOON, choose=Post())
    tick(now=NOON + 10 * MINUTE, choose=Post())
    assert not Gap.objects.exists()

    tick(now=NOON + 20 * MINUTE + SECOND, choose=Post())

    gap = Gap.objects.get()
    assert (gap.kind, gap.began_at, gap.ended_at) == (STOPPED, NOON + 10 * MINUTE, NOON + 20 * MINUTE + SECOND)
    assert (gap.caught_up_at, gap.sent) == (None, 0)


def test_the_first_tick_of_all_is_no_gap():
    tick(now=NOON, choose=Post())

    assert not Gap.objects.exists()


def test_each_practice_has_it_in_its_log_once():
    world.practice(seeded=False)
    tick(now=NOON, choose=Post())
    for minutes in (60, 61, 62):
        tick(now=NOON + minutes * MINUTE, choose=Post())

    assert Event.objects.filter(what=STOPPED).count() == 1


def test_a_demo_whose_clock_was_moved_on_by_hand_was_not_down():
    tick(now=NOON, moved_on=HOUR, choose=Post())
    tick(now=NOON + 9 * HOUR + SECOND, moved_on=10 * HOUR, choose=Post())
    assert not Gap.objects.exists()

    tick(now=NOON + 10 * HOUR, moved_on=10 * HOUR, choose=Post())
    assert Gap.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_that_begin_at_once_write_one_gap_down():
    tick(now=NOON, choose=Post())
    gate, faults = threading.Barrier(2), list[Exception]()

    def work() -> None:
        try:
            gate.wait()
            begin(now=NOON + HOUR)
        except Exception as fault:  # noqa: BLE001 - told by the assertion
            faults.append(fault)
        finally:
            connection.close()

    workers = [threading.Thread(target=work) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)

    assert (faults, Gap.objects.count()) == ([], 1)


def no_escalation(*, now: dt.datetime) -> None:
    raise ValueError(now)


def test_as_long_as_no_tick_is_whole_the_gap_grows(monkeypatch):
    tick(now=NOON, choose=Post())
    monkeypatch.setattr("followup.services.tick.escalate", no_escalation)
    for minutes in (11, 12, 30):
        with pytest.raises(ExceptionGroup):
            tick(now=NOON + minutes * MINUTE, choose=Post())

    gap = Gap.objects.get()
    assert (gap.began_at, gap.ended_at) == (NOON, NOON + 30 * MINUTE)


def phoned(plan: Plan) -> list[str]:
    return list(plan.tasks.filter(kind=Task.Kind.PHONE).order_by("pk").values_list("text", flat=True))


def test_what_the_outage_has_overtaken_is_one_call_for_the_patient_and_never_asked_late(plan):
    """Pip is asked at 18:30 and 20:45, and on day 1 at 07:30; the tick comes back at 22:30 of day 1."""
    post = Post()
    down_until(BACK, since=at("18:29"))
    tick(now=BACK, choose=post)

    asked = {each.at: each for each in plan.check_ins.filter(at__lt=BACK)}
    past = [each for each in asked.values() if each.answer_by <= BACK]
    assert len(past) >= 3
    assert {each.could_not_be_asked for each in past} == {True}
    assert not CheckIn.objects.filter(messages__isnull=False, pk__in=[each.pk for each in past]).exists()
    dose = plan.doses.earliest("at")
    assert dose.give_until < BACK
    [text] = [text for text in phoned(plan) if "sending was down" in text]
    assert "sending was down between Mon 10 Mar 18:29 and Tue 11 Mar 22:30. These were not sent: " in text
    assert "the check-in of Mon 10 Mar 18:30; the check-in of Mon 10 Mar 20:45; " in text
    assert f"the reminder of meloxicam {dose.amount} at " in text


def test_further_ticks_list_nothing_twice_and_ask_nothing_again(plan):
    down_until(BACK, since=at("18:29"))
    tick(now=BACK, choose=Post())
    before = (phoned(plan), plan.messages.count(), plan.events.count())
    for minutes in range(1, 9):
        tick(now=BACK + minutes * MINUTE, choose=Post())

    assert (phoned(plan), plan.messages.count(), plan.events.count()) == before


def test_a_question_that_can_still_be_answered_is_asked_when_sending_is_back(plan):
    down_until(at("18:50"), since=at("18:00"))
    post = Post()
    tick(now=at("18:50"), choose=post)

    assert len(post.letters) == 1
    assert plan.check_ins.get(at=at("18:30")).could_not_be_asked is False
    assert phoned(plan) == []


def test_what_expires_while_it_is_caught_up_is_added_to_the_one_call(plan):
    people(plan, 3, now=NOON, expires_at=NOON + HOUR)
    gap = down_until(NOON + 2 * HOUR, since=NOON)
    tick(now=gap.ended_at, choose=Post())
    people(plan, 1, now=NOON + MINUTE, key="later", expires_at=gap.ended_at + 2 * MINUTE, each=1)
    Message.objects.filter(key="later").update(not_before=gap.ended_at + 2 * MINUTE)
    tick(now=gap.ended_at + 3 * MINUTE, choose=Post())

    assert [text.count("“How is Pip?”") for text in phoned(plan)] == [2]
    assert phoned(plan)[0].endswith(
        "These were not sent: “How is Pip?” of Mon 10 Mar 12:00; “How is Pip?” of Mon 10 Mar 12:01"
    )


def test_after_the_call_was_made_what_expires_is_another_call(plan):
    people(plan, 1, now=NOON, expires_at=NOON + HOUR)
    gap = down_until(NOON + 2 * HOUR, since=NOON)
    tick(now=gap.ended_at, choose=Post())
    Task.objects.update(done_at=gap.ended_at)
    people(plan, 1, now=NOON + MINUTE, key="later", expires_at=NOON + HOUR)
    tick(now=gap.ended_at + MINUTE, choose=Post())

    assert [text[-5:] for text in phoned(plan)] == ["12:00", "12:01"]


def test_once_caught_up_what_expires_is_a_call_of_its_own(plan):
    gap = down_until(NOON + HOUR, since=NOON)
    begin(now=gap.ended_at + SETTLES)
    end(now=gap.ended_at + SETTLES)
    people(plan, 1, now=NOON, expires_at=NOON + HOUR)
    tick(now=gap.ended_at + SETTLES + MINUTE, choose=Post())

    assert [text.endswith("the message “How is Pip?” was not sent in time") for text in phoned(plan)] == [True]


def test_more_patients_than_one_tick_asks_are_all_written_down(plan, monkeypatch):
    """Each plan is one transaction; none of those that are too late is asked by the same tick."""
    others = [world.running_plan("rabbit") for _ in range(3)]
    monkeypatch.setattr("followup.services.ask.MOST_AT_ONCE", 1)
    down_until(at("19:00", day=1), since=at("18:29"))

    unasked = CheckIn.objects.filter(could_not_be_asked=True).values_list("plan", flat=True)
    assert set(unasked) == {plan.pk, *(each.pk for each in others)}
    assert MOST_AT_ONCE > 1


def test_a_dose_that_was_over_before_sending_stopped_is_not_its_loss(plan):
    dose = plan.doses.earliest("at")
    since = dose.give_until + MINUTE
    down_until(since + HOUR, since=since)

    assert Dose.objects.get(pk=dose.pk).reminded_at is None


def test_guards_add_the_same_few_queries_to_every_tick(django_assert_num_queries):
    tick(now=NOON, choose=Post())
    world.running_plan()
    for number in range(20):
        Gap.objects.create(
            kind=STOPPED,
            began_at=NOON - (number + 2) * HOUR,
            ended_at=NOON - (number + 1) * HOUR,
            caught_up_at=NOON - number * HOUR,
        )

    with django_assert_num_queries(4):
        begin(now=NOON + MINUTE)
    with django_assert_num_queries(1):
        end(now=NOON + MINUTE)
    with CaptureQueriesContext(connection) as asked:
        tick(now=NOON + 2 * MINUTE, choose=Post())
    ours = [query for query in asked if "followup_gap" in query["sql"] or "followup_installation" in query["sql"]]
    assert len(ours) == 5
    assert Heartbeat.objects.last_of("tick") == NOON + 2 * MINUTE
