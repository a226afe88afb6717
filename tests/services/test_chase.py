"""What falls due with time: questions, doses, reminders. Source of the times: clinical defaults, 5 and 7 (D)."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Carer, Owner
from followup.models import CheckIn, Dose, Message, Plan, Task
from followup.services import chase as chasing
from followup.services.chase import chase
from followup.services.tick import tick
from tests import world
from tests.services.chasing import CHECK_IN, DOSE, EVENING, MINUTE, REMINDER, purposes, quiet_plan, to, written
from tests.services.post import Post

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    return quiet_plan()


def dose_of(plan: Plan, at: dt.datetime, **changes) -> Dose:
    plan.doses.all().delete()
    facts = {
        "drug": "meloxicam",
        "number": 1,
        "at": at,
        "not_before": at - 60 * MINUTE,
        "give_until": at + 360 * MINUTE,
        "amount": "0.18 ml",
    }
    return plan.doses.create(practice=plan.practice, **facts | changes)


def second_carer(plan: Plan) -> Owner:
    person = world.owner(plan.practice, name="Second Carer")
    Carer.objects.create(patient=plan.patient, person=person, second=True)
    return person


def test_a_check_in_is_asked_at_its_time_and_once(plan):
    plan.doses.all().delete()

    assert purposes(EVENING - MINUTE) == []
    (asked,) = written(EVENING)
    assert (asked.purpose, asked.medium) == (CHECK_IN, Message.Medium.EMAIL)
    assert "How is Pip?" in asked.body
    assert list(asked.check_ins.all()) == [plan.check_ins.get(at=EVENING)]
    assert plan.check_ins.get(at=EVENING).asked_at == EVENING
    assert purposes(EVENING) == []


def test_the_first_evening_reminds_after_30_minutes_by_the_second_channel_and_after_45_the_second_carer(plan):
    carer = second_carer(plan)
    plan.doses.all().delete()
    written(EVENING)

    assert written(EVENING + 29 * MINUTE) == []
    (first,) = written(EVENING + 30 * MINUTE)
    assert (first.purpose, to(first), first.medium) == (REMINDER, plan.patient.owner, Message.Medium.SMS)
    assert written(EVENING + 44 * MINUTE) == []
    (then,) = written(EVENING + 45 * MINUTE)
    assert (then.purpose, to(then)) == (REMINDER, carer)
    assert written(EVENING + 60 * MINUTE) == []


def test_a_later_check_in_is_reminded_of_once_after_two_hours(plan):
    plan.doses.all().delete()
    morning = world.at("18:30", day=3)
    CheckIn.objects.filter(at__lt=morning).update(state=CheckIn.State.ANSWERED)
    written(morning)

    reminded = [minute for minute in range(0, 300, 10) if written(morning + minute * MINUTE, purpose=REMINDER)]

    assert reminded == [120]


def test_a_reminder_that_would_fall_asleep_goes_half_an_hour_before_sleep(plan):
    plan.doses.all().delete()
    late = world.at("20:45", day=3)
    CheckIn.objects.filter(at__lt=world.at("18:30", day=3)).update(state=CheckIn.State.ANSWERED)
    CheckIn.objects.filter(at=world.at("18:30", day=3)).update(at=late, answer_by=late + dt.timedelta(days=1))
    written(late)

    reminded = [minute for minute in range(0, 200, 5) if written(late + minute * MINUTE, purpose=REMINDER)]

    assert reminded == [45]  # 21:30, sleep at 22:00


def test_an_answered_check_in_is_not_reminded_of(plan):
    plan.doses.all().delete()
    written(EVENING)
    CheckIn.objects.filter(at=EVENING).update(state=CheckIn.State.ANSWERED)

    assert [purposes(EVENING + minute * MINUTE) for minute in (30, 45, 120)] == [[], [], []]


def test_no_reminder_once_the_answer_was_due(plan):
    plan.doses.all().delete()
    written(EVENING)
    CheckIn.objects.filter(at=EVENING).update(answer_by=EVENING + 25 * MINUTE)

    assert purposes(EVENING + 30 * MINUTE) == []


def test_a_check_in_that_is_asked_an_hour_late_is_reminded_of_from_then_on(plan):
    plan.doses.all().delete()
    late = EVENING + 60 * MINUTE

    assert purposes(late) == [CHECK_IN]
    assert purposes(late + 29 * MINUTE) == []
    assert purposes(late + 30 * MINUTE) == [REMINDER]


def test_two_patients_of_one_owner_share_one_message(plan):
    other = world.running_plan("rabbit", of=plan.patient.owner)
    other.messages.all().delete()
    Dose.objects.all().delete()
    CheckIn.objects.filter(plan=other).update(state=CheckIn.State.CANCELLED)
    other.check_ins.create(
        practice=other.practice, kind="evening", day=0, at=EVENING, answer_by=EVENING + 240 * MINUTE, questions=[]
    )

    (asked,) = written(EVENING)

    assert asked.check_ins.count() == 2
    assert "Pip and Clover" in asked.body


@pytest.mark.parametrize(("minutes", "shares"), [(0, True), (30, True), (31, False)])
def test_a_dose_within_half_an_hour_shares_the_check_ins_message(plan, minutes, shares):
    dose = dose_of(plan, EVENING + minutes * MINUTE)

    (asked,) = written(EVENING)

    assert asked.purpose == CHECK_IN
    assert ("0.18 ml" in asked.body) is shares
    assert list(asked.doses.all()) == ([dose] if shares else [])
    assert len(written(EVENING + minutes * MINUTE, purpose=DOSE)) == (not shares)


def test_a_dose_is_never_asked_for_before_it_may_be_given(plan):
    dose_of(plan, EVENING + 20 * MINUTE, not_before=EVENING + 10 * MINUTE)

    (asked,) = written(EVENING)

    assert "0.18 ml" not in asked.body
    assert purposes(EVENING + 20 * MINUTE) == [DOSE]


def test_a_held_dose_says_to_phone_first_and_holds_up_no_other_medicine(plan):
    dose_of(plan, EVENING, held=True)
    plan.doses.create(
        practice=plan.practice,
        drug="omeprazole",
        number=1,
        at=EVENING,
        not_before=EVENING,
        give_until=EVENING + 300 * MINUTE,
        amount="0.5 ml",
    )
    asked, held = written(EVENING)

    assert "omeprazole 0.5 ml" in asked.body
    assert "meloxicam" not in asked.body
    assert "Phone us before this dose: meloxicam 0.18 ml" in held.body
    assert "00:30" in held.body  # until when it may be given


def test_somebody_without_an_address_becomes_a_call_and_the_silence_has_a_reason(plan):
    Owner.objects.update(email="", mobile="", landline="+441632960777")
    plan.doses.all().delete()

    assert written(EVENING) == []
    assert plan.tasks.filter(kind=Task.Kind.PHONE).count() == 1
    assert plan.check_ins.get(at=EVENING).could_not_be_asked


def test_one_of_two_carers_with_an_address_is_enough_to_be_asked(plan):
    plan.doses.all().delete()
    for changes in ({"email": "", "mobile": ""}, {}):
        Carer.objects.create(patient=plan.patient, person=world.owner(plan.practice, **changes))

    assert len(written(EVENING)) == 1
    assert not plan.check_ins.get(at=EVENING).could_not_be_asked


def test_one_bad_plan_never_stops_the_others(plan):
    good = world.running_plan("rabbit")
    Dose.objects.all().delete()
    CheckIn.objects.filter(plan=good).update(state=CheckIn.State.PLANNED)
    due = min(good.check_ins.values_list("at", flat=True))
    Plan.objects.filter(pk=plan.pk).update(case={"nonsense": True}, look_again_at=due)

    chase(now=due)

    assert good.messages.filter(purpose=CHECK_IN).count() == 1
    assert plan.flags.get(concern="not_weighed").because.startswith("Pip: the rules could not be weighed")
    plan.refresh_from_db()
    assert plan.look_again_at == due + 15 * MINUTE  # tried again, but not at every tick


def test_a_part_of_the_tick_that_fails_keeps_no_message_and_no_alert_back(plan, monkeypatch):
    plan.doses.all().delete()
    written(EVENING)

    def broken(**_) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(chasing, "ask_what_is_due", broken)
    post = Post()
    with pytest.raises(ExceptionGroup, match="parts of the tick"):
        tick(now=EVENING + MINUTE, choose=post)

    assert len(post.letters) == 1


def test_what_is_paused_asks_nothing(plan):
    Plan.objects.update(paused=Plan.Pause.IN_HOSPITAL)

    assert purposes(EVENING) == []
    assert plan.check_ins.get(at=EVENING).state == CheckIn.State.PLANNED
