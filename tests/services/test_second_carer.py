"""The first carer is silent at an urgent level: a second one is written to, once. Clinical defaults, 5 and 13."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Carer, Owner, Role
from followup.domain.terms import Level
from followup.models import CheckIn, Flag, Message, Plan, Recipient, Task
from followup.models import Verdict as VerdictRow
from followup.services.assess import assess
from followup.services.chase import chase
from followup.services.due import next_due
from followup.services.escalate import record_outcome
from followup.services.last_look import no_longer_wanted
from followup.services.links import path_of
from followup.services.people import second_recipients
from followup.services.second_carer import expect_a_word, write_to_second_carers
from tests import world
from tests.services.post import read_by
from tests.services.silent import GOOD, owner_says, silence_of, staff_writes, ticks
from tests.world import at

MINUTE = dt.timedelta(minutes=1)
NOW = at("14:00", day=4)

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    made.messages.all().delete()
    return made


@pytest.fixture
def second(plan: Plan) -> Owner:
    person = world.owner(plan.practice, name="Second Carer")
    Carer.objects.create(patient=plan.patient, person=person, second=True)
    return person


def flag_of(plan: Plan, concern: str = "eating", level: Level = Level.URGENT) -> Flag:
    """Raised by time alone, and told to the first."""
    flag = plan.flags.create(
        practice=plan.practice, concern=concern, level=level, worst=level, because="no food for 13 h",
        opened_at=NOW, raised_at=NOW, updated_at=NOW, owner_told="Phone today", owner_told_at=NOW,
    )  # fmt: skip
    expect_a_word([flag], now=NOW)
    return flag


def to_second(now: dt.datetime) -> list[Message]:
    write_to_second_carers(now=now)
    return list(Message.objects.filter(recipient__part=Recipient.Part.SECOND_CARER).order_by("pk"))


@pytest.mark.parametrize(("level", "minutes"), [(Level.URGENT, 45), (Level.EMERGENCY, 15)])
def test_after_silence_the_second_carer_gets_the_advice_and_the_link(plan, second, level, minutes):
    flag_of(plan, level=level)

    assert to_second(NOW + (minutes - 1) * MINUTE) == []
    (message,) = to_second(NOW + minutes * MINUTE)
    assert (read_by(message), message.purpose, message.medium) == (second, "advice", "email")
    assert message.subject == "Pip: we cannot reach " + plan.patient.owner.name
    for words in ("look at Pip now", "{link}", "Phone", "01632 960100", "does not replace your vet"):
        assert words in message.body
    assert plan.events.get(what="second_carer").text.startswith("no word from Robin")


def test_a_silence_that_is_urgent_is_not_waited_for(plan, second):
    flag_of(plan, concern="silence")

    assert len(to_second(NOW)) == 1


def test_once_a_flag_and_again_only_when_it_becomes_an_emergency(plan, second):
    flag = flag_of(plan)
    to_second(NOW + 45 * MINUTE)
    expect_a_word([flag], now=NOW + 60 * MINUTE)

    assert len(to_second(NOW + 120 * MINUTE)) == 1
    Flag.objects.update(level=Level.EMERGENCY, worst=Level.EMERGENCY)
    flag.refresh_from_db()
    expect_a_word([flag], now=NOW + 150 * MINUTE)
    assert len(to_second(NOW + 165 * MINUTE)) == 2


def test_two_ticks_at_once_write_once_and_two_second_carers_get_one_each(plan, second):
    other = world.owner(plan.practice, name="Third Carer")
    Carer.objects.create(patient=plan.patient, person=other, second=True)
    flag_of(plan, concern="silence")
    to_second(NOW)

    assert [read_by(each) for each in to_second(NOW)] == [second, other]


@pytest.mark.parametrize("who", ["owner", "staff"])
def test_a_word_from_anybody_ends_the_wait(plan, second, who):
    flag_of(plan, concern="wound")
    (owner_says if who == "owner" else staff_writes)(plan, NOW + 10 * MINUTE, **GOOD)

    assert to_second(NOW + 60 * MINUTE) == []


def test_what_was_said_before_the_first_was_told_is_no_word_from_him(plan, second):
    flag_of(plan, concern="wound")
    owner_says(plan, NOW + 10 * MINUTE, **GOOD)
    told = NOW + 30 * MINUTE
    Flag.objects.update(owner_told_at=told, level=Level.URGENT, worst=Level.URGENT)  # time alone has raised it again
    expect_a_word([Flag.objects.get(concern="wound")], now=told)

    assert to_second(told + 44 * MINUTE) == []
    assert len(to_second(told + 45 * MINUTE)) == 1


@pytest.mark.parametrize(
    "changes",
    [{"level": Level.ON_TRACK}, {"state": "ended"}, {"outcome": "spoken_to"}, {"outcome": "sent_to"}],
    ids=["a good answer", "over", "spoken to", "with a vet"],
)
def test_nobody_is_alarmed_about_what_is_in_hands_or_over(plan, second, changes):
    flag_of(plan)
    Flag.objects.update(**changes)

    assert to_second(NOW + 60 * MINUTE) == []


@pytest.mark.parametrize("changes", [{"paused": "in_hospital"}, {"paused": "words_say_died"}])
def test_nothing_is_written_while_the_follow_up_is_paused(plan, second, changes):
    flag_of(plan)
    Plan.objects.update(**changes)

    assert to_second(NOW + 60 * MINUTE) == []


def test_could_not_reach_twice_writes_to_the_second_carer_at_once(plan, second):
    flag = flag_of(plan, level=Level.EMERGENCY)
    Flag.objects.update(second_carer_at=None)
    vet = world.staff(plan.practice, Role.VET)
    for minutes in (1, 6):
        record_outcome(flag, staff=vet, outcome=Flag.Outcome.NOT_REACHED, note="", now=NOW + minutes * MINUTE)
        flag.refresh_from_db()

    assert len(to_second(NOW + 6 * MINUTE)) == 1


def test_a_second_carer_without_an_address_is_a_call(plan, second):
    Owner.objects.filter(pk=second.pk).update(email="", mobile="", landline="+441632960778")
    flag_of(plan, concern="silence")

    assert to_second(NOW) == []
    assert plan.tasks.get(kind=Task.Kind.PHONE).text.startswith("Phone Second Carer: Pip: we cannot reach")


def test_without_a_second_carer_nothing_happens(plan):
    flag_of(plan, concern="silence")

    assert to_second(NOW) == []
    assert not plan.events.filter(what="second_carer").exists()


def test_the_whole_way_a_silent_first_evening_and_night(plan, second):
    """Source of the hours: clinical defaults, 5: unanswered at sleep is urgent, "first evening, no word"."""
    plan.doses.all().delete()
    moments = [at("18:30") + minutes * MINUTE for minutes in range(0, 225, 15)]
    ticks(*moments)

    silence = silence_of(plan)
    assert silence.worst >= Level.URGENT
    told = Message.objects.filter(recipient__person=second).order_by("pk")
    assert [each.purpose for each in told.filter(purpose=Message.Purpose.ADVICE, flag=silence)] == ["advice"]
    assert {each.key for each in told} == set(told.values_list("key", flat=True))
    before = told.count()
    ticks(*[moments[-1] + minutes * MINUTE for minutes in (15, 30)])
    assert told.filter(flag=silence).count() == 1
    assert before >= 2  # the reminder of the first evening as well


def test_who_has_just_answered_himself_is_not_silent(plan, second):
    owner_says(plan, NOW, appetite=["normal"], worried=["very"])

    assert plan.flags.get(concern="worry").second_carer_at is None


def test_what_comes_by_time_alone_is(plan, second):
    owner_says(plan, at("12:00", day=1), appetite=["none"], last_ate_at=["11:00"])
    Flag.objects.update(second_carer_at=None)
    later = at("21:00", day=1)
    assess(plan, now=later, cause=VerdictRow.Cause.TIME)

    eating = plan.flags.get(concern="eating")
    assert (eating.level, eating.second_carer_at) == (Level.URGENT, later + 45 * MINUTE)


def test_it_is_dropped_when_the_question_was_answered_before_it_went_out(plan, second):
    asked = plan.check_ins.order_by("at").first()
    CheckIn.objects.filter(pk=asked.pk).update(state=CheckIn.State.ASKED)
    flag_of(plan, concern="silence")
    (message,) = to_second(NOW)
    CheckIn.objects.update(state=CheckIn.State.ANSWERED)

    assert no_longer_wanted(message) == "answered already"


def test_the_second_carers_page_shows_the_patient(plan, second, client):
    (recipient,) = second_recipients(plan, now=NOW)

    assert "Pip" in client.get(path_of(recipient)).content.decode()


def test_the_demo_clock_stops_at_it(plan, second):
    plan.check_ins.all().delete()
    plan.doses.all().delete()
    plan.notices.all().delete()
    Plan.objects.update(look_again_at=None)
    flag_of(plan)

    assert next_due(NOW) == NOW + 45 * MINUTE


def test_a_tick_writes_to_them(plan, second):
    flag_of(plan, concern="silence")
    chase(now=NOW)

    assert Message.objects.filter(recipient__person=second, purpose="advice").count() == 1
