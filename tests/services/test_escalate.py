"""An emergency reaches a person: who is alerted when, until somebody has it. Source: clinical defaults, 13 (D)."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import OnCallShift, Role, Staff
from followup.domain.terms import FollowUpError, Level
from followup.messaging.channel import Letter, Outcome, Sent
from followup.models import Flag, Message, Plan
from followup.services.dispatch import send_due
from followup.services.escalate import NotYours, acknowledge, escalate, failed_calls, record_outcome
from tests import world
from tests.services.post import Post

MINUTE = dt.timedelta(minutes=1)
BEGAN = world.at("19:00")
EMAIL, SMS = Message.Medium.EMAIL, Message.Medium.SMS

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


@pytest.fixture
def first(plan: Plan) -> Staff:
    return world.staff(plan.practice, Role.VET, "First Vet")


@pytest.fixture
def second(plan: Plan) -> Staff:
    return world.staff(plan.practice, Role.VET, "Second Vet")


@pytest.fixture
def third(plan: Plan) -> Staff:
    return world.staff(plan.practice, Role.VET, "Third Vet")


@pytest.fixture
def rota(plan: Plan, first: Staff, second: Staff, third: Staff) -> list[Staff]:
    for position, who in enumerate([first, second, third], start=1):
        world.on_call(plan.practice, who, position=position)
    return [first, second, third]


def flag_of(plan: Plan, level: Level = Level.EMERGENCY, concern: str = "eating") -> Flag:
    return plan.flags.create(
        practice=plan.practice,
        concern=concern,
        level=level,
        worst=level,
        because="no food for 13 h",
        opened_at=BEGAN,
        raised_at=BEGAN,
        updated_at=BEGAN,
        round_began_at=BEGAN if level is Level.EMERGENCY else None,
        next_alert_at=BEGAN if level is Level.EMERGENCY else None,
    )


@pytest.fixture
def flag(plan: Plan) -> Flag:
    return flag_of(plan)


def minute(number: float) -> dt.datetime:
    return BEGAN + number * MINUTE


def alerted_at(now: dt.datetime) -> list[tuple[str, str]]:
    """Whom a tick at `now` alerts, and by what."""
    before = set(Message.objects.values_list("pk", flat=True))
    escalate(now=now)
    new = Message.objects.exclude(pk__in=before).order_by("pk").select_related("staff")
    return [(each.staff.name.split()[0], each.medium) for each in new if each.staff is not None]


def both(name: str) -> list[tuple[str, str]]:
    return [(name, EMAIL), (name, SMS)]


def test_the_steps_by_the_minute(flag, rota):
    everyone = both("First") + both("Second") + both("Third")
    expected = {
        0: [("First", EMAIL)],
        4: [],
        5: both("First"),
        14: [],
        15: both("First") + both("Second"),
        29: [],
        30: everyone,
        44: [],
        45: everyone,
        59: [],
        60: everyone,
    }
    assert {number: alerted_at(minute(number)) for number in expected} == expected


def test_two_ticks_at_the_same_moment_alert_once(flag, rota):
    assert (len(alerted_at(minute(0))), len(alerted_at(minute(0)))) == (1, 0)


def test_after_an_outage_the_steps_that_were_missed_are_taken_tick_by_tick(flag, rota):
    late = minute(20)
    taken = [len(alerted_at(late + dt.timedelta(seconds=15 * tick))) for tick in range(4)]

    assert taken == [1, 2, 4, 0]


def test_nobody_on_call_alerts_every_vet_and_administrator_at_once_and_says_so(plan, flag, first, second):
    world.staff(plan.practice, Role.ADMINISTRATOR, "Admin Person")
    world.staff(plan.practice, Role.NURSE, "Nurse Person")

    assert alerted_at(minute(0)) == both("First") + both("Second") + both("Admin")
    assert plan.events.filter(what="nobody_on_call").count() == 1
    assert alerted_at(minute(14)) == []
    assert alerted_at(minute(15)) == both("First") + both("Second") + both("Admin")


def test_only_the_shift_that_runs_now_is_alerted(plan, flag, first, second):
    world.on_call(plan.practice, first)
    OnCallShift.objects.update(ends_at=BEGAN)
    world.on_call(plan.practice, second)

    assert alerted_at(minute(0)) == [("Second", EMAIL)]


def test_a_person_without_a_mobile_is_alerted_by_what_there_is(plan, flag, first):
    Staff.objects.update(mobile="")
    world.on_call(plan.practice, first)
    alerted_at(minute(0))

    assert alerted_at(minute(5)) == [("First", EMAIL)]


def test_an_alert_says_who_what_the_owners_number_and_what_he_was_told(plan, flag, rota):
    Flag.objects.update(owner_told="Phone a vet now")
    escalate(now=minute(0))
    body = Message.objects.get(audience="staff").body

    for words in ("Pip", "guinea pig", "no food for 13 h", plan.patient.owner.name, "07700 900", "Phone a vet now"):
        assert words in body


def test_acknowledged_is_quiet_for_30_minutes_and_then_begins_again_with_that_person(plan, flag, rota, second):
    alerted_at(minute(0))
    acknowledge(flag, staff=second, now=minute(2))

    assert alerted_at(minute(31.9)) == []
    assert alerted_at(minute(32)) == [("Second", EMAIL)]
    assert plan.events.filter(what="no_outcome").count() == 1
    assert alerted_at(minute(36.9)) == []
    assert alerted_at(minute(37)) == both("Second")
    assert alerted_at(minute(47)) == both("Second") + both("First")
    assert alerted_at(minute(62)) == both("Second") + both("First") + both("Third")


def test_what_somebody_has_is_not_sent_any_more(flag, rota, first):
    escalate(now=minute(0))
    acknowledge(flag, staff=first, now=minute(1))
    post = Post()

    send_due(now=minute(2), choose=post, audience=Message.Audience.STAFF)

    assert post.letters == []
    assert Message.objects.get(audience="staff").last_error == "somebody has it"


def test_who_comes_second_is_told_who_has_it_and_pressing_twice_is_once(plan, flag, first, second):
    acknowledge(flag, staff=first, now=minute(1))
    acknowledge(flag, staff=first, now=minute(2))

    with pytest.raises(NotYours, match="First Vet already has this one"):
        acknowledge(flag, staff=second, now=minute(3))
    flag.refresh_from_db()
    assert (flag.acknowledged_by, flag.acknowledged_at) == (first, minute(1))
    assert plan.events.filter(what="acknowledged").count() == 1


def test_what_is_over_cannot_be_taken(plan, flag, first):
    Flag.objects.update(state=Flag.State.ENDED)

    with pytest.raises(NotYours, match="over"):
        acknowledge(flag, staff=first, now=minute(1))


def test_having_an_urgent_one_never_starts_alerts(plan, first):
    urgent = flag_of(plan, Level.URGENT)
    acknowledge(urgent, staff=first, now=minute(1))

    assert alerted_at(minute(40)) == []


def test_an_outcome_ends_the_alerts_and_is_kept(plan, flag, rota, second):
    alerted_at(minute(0))
    record_outcome(flag, staff=second, outcome=Flag.Outcome.SPOKEN_TO, note="brings him in", now=minute(3))

    assert [alerted_at(minute(number)) for number in (5, 15, 30, 33, 45)] == [[]] * 5
    flag.refresh_from_db()
    assert (flag.outcome, flag.outcome_note, flag.outcome_at) == ("spoken_to", "brings him in", minute(3))
    assert (flag.acknowledged_by, flag.acknowledged_at) == (second, minute(3))


@pytest.mark.parametrize("outcome", [Flag.Outcome.SENT_TO, Flag.Outcome.FALSE_ALARM])
def test_sent_to_whom_and_a_false_alarm_why_must_be_said(flag, first, outcome):
    with pytest.raises(FollowUpError, match="where to"):
        record_outcome(flag, staff=first, outcome=outcome, note="  ", now=minute(3))

    flag.refresh_from_db()
    assert flag.outcome == ""


def test_one_call_that_nobody_answered_is_no_outcome_and_the_half_hour_runs_on(plan, flag, rota, second):
    acknowledge(flag, staff=second, now=minute(1))
    flag.refresh_from_db()
    record_outcome(flag, staff=second, outcome=Flag.Outcome.NOT_REACHED, note="", now=minute(3))

    flag.refresh_from_db()
    assert (flag.outcome, flag.next_alert_at) == ("", minute(31))
    assert failed_calls(flag) == [minute(3)]
    assert alerted_at(minute(31)) == [("Second", EMAIL)]


def test_the_second_call_that_nobody_answered_is_the_outcome_could_not_reach_twice(plan, flag, rota, second):
    for number in (3, 40):
        record_outcome(flag, staff=second, outcome=Flag.Outcome.NOT_REACHED, note="", now=minute(number))
        flag.refresh_from_db()

    assert (flag.outcome, flag.outcome_at, flag.next_alert_at) == ("not_reached", minute(40), None)
    assert plan.events.filter(what="call_failed").count() == 2
    assert alerted_at(minute(60)) == []


def test_a_button_pressed_twice_is_one_call(flag, rota, second):
    record_outcome(flag, staff=second, outcome=Flag.Outcome.NOT_REACHED, note="", now=minute(3))
    flag.refresh_from_db()

    with pytest.raises(FollowUpError, match="Nobody answered at 19:03"):
        record_outcome(flag, staff=second, outcome=Flag.Outcome.NOT_REACHED, note="", now=minute(3.5))
    flag.refresh_from_db()
    assert (flag.outcome, flag.acknowledged_by) == ("", second)


def test_a_call_about_what_is_closed_is_not_written_down(plan, flag, second):
    Flag.objects.update(state=Flag.State.ENDED)

    with pytest.raises(NotYours, match="closed"):
        record_outcome(flag, staff=second, outcome=Flag.Outcome.NOT_REACHED, note="", now=minute(3))
    assert not plan.events.filter(what="call_failed").exists()


class Dead(Post):
    """Every way out fails, for the people in `to`."""

    def __init__(self, sent: Sent, to: set[str]) -> None:
        super().__init__()
        self.sent, self.to = sent, to

    def send(self, letter: Letter) -> Sent:
        super().send(letter)
        return self.sent if letter.to in self.to else Sent(Outcome.OK)


@pytest.mark.parametrize("outcome", [Outcome.PERMANENT, Outcome.UNKNOWN, Outcome.TRANSIENT, Outcome.CONFIG])
def test_an_alert_that_did_not_surely_arrive_goes_to_the_next_person_at_once(flag, rota, first, outcome):
    post = Dead(Sent(outcome), {first.email})
    escalate(now=minute(0))
    send_due(now=minute(0), choose=post, audience=Message.Audience.STAFF)

    assert alerted_at(minute(0.25)) == both("First") + both("Second")
    assert not Message.objects.filter(state=Message.State.PARKED).exists()


def test_when_no_alert_arrives_everyone_is_tried_and_then_every_quarter_of_an_hour(flag, rota):
    addresses = {word for who in rota for word in (who.email, str(who.mobile))}
    post, alerts = Dead(Sent(Outcome.PERMANENT), addresses), {}
    for tick in range(70):
        moment = minute(tick / 4)
        if many := len(alerted_at(moment)):
            alerts[tick / 4] = many
        send_due(now=moment, choose=post, audience=Message.Audience.STAFF)

    assert alerts == {0: 1, 0.25: 4, 0.5: 6, 15.5: 6}


def test_an_alert_that_nobody_can_say_arrived_is_never_parked(flag, rota):
    escalate(now=minute(0))
    alert = Message.objects.get(audience=Message.Audience.STAFF)
    for number in (0, 1, 2):
        send_due(now=minute(number), choose=Post(Sent(Outcome.UNKNOWN)), audience=Message.Audience.STAFF)

    alert.refresh_from_db()
    assert (alert.state, alert.unknown_outcomes) == (Message.State.FAILED, 2)
