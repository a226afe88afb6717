"""While the animal is in a clinic nothing is sent and silence says nothing; going home begins a new plan."""

from __future__ import annotations

from typing import Any

import pytest

from clinic.models import Role
from followup.domain.terms import FollowUpError, Level
from followup.models import CheckIn, Dose, Flag, Message, Plan, Task
from followup.services.admit import AlreadyAdmitted, admit
from followup.services.chase import chase
from followup.services.facts import compiled_of, recovery_of
from followup.services.home_again import Homecoming, NotInAClinic, home_again
from followup.services.links import recipient_for
from followup.services.morning_list import morning_list
from followup.services.needs import Group
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.tick import tick
from followup.services.who_may import NotYours
from tests.services.post import Post
from tests.world import at, facts, on_call, running_plan, staff

pytestmark = pytest.mark.django_db

ADMITTED, HOME = at("09:00", day=2), at("15:00", day=4)


@pytest.fixture
def plan() -> Plan:
    return running_plan()


@pytest.fixture
def vet(plan):
    who = staff(plan.practice, Role.VET)
    on_call(plan.practice, who)
    return who


def coming(**changes: Any) -> Homecoming:
    (medicine,) = facts()["home_medication"]
    known: dict[str, Any] = {
        "discharged_at": HOME.isoformat(),
        "patient": {"weight_g": 860},
        "given_in_clinic": [
            {"drug": "meloxicam", "mg_per_kg": 0.2, "route": "sc", "at": at("10:00", day=4).isoformat()}
        ],
        "last_ate_before_discharge_at": at("14:00", day=4).isoformat(),
        "last_faeces_before_discharge_at": at("13:00", day=4).isoformat(),
        "home_medication": [medicine],
    }
    return Homecoming(facts=known | changes, because="Gut stasis, treated as an in-patient.")


def answer(plan: Plan, now, **answers: str) -> None:
    said = together({key: [value] for key, value in answers.items()})
    owner = recipient_for(plan.practice, plan.patient.owner, now=now)
    take_reply(plan, Incoming(f"at {now}", said), author=owner, now=now)


def times(rows) -> list[str]:
    return [f"{row.at:%d %H:%M}" for row in rows]


def test_nothing_is_sent_and_silence_says_nothing(plan, vet):
    answer(plan, at("20:45"), appetite="normal", faeces="normal")
    tick(now=at("07:30", day=1), choose=Post())
    plan.refresh_from_db()
    admit(plan, staff=vet, why="Stasis, in our ward.", now=ADMITTED)
    flags = plan.flags.count()
    post = Post()
    for day in (2, 3, 4):
        for clock in ("10:00", "18:30", "22:00"):
            tick(now=at(clock, day=day), choose=post)

    assert post.letters == []
    assert plan.flags.count() == flags
    plan.refresh_from_db()
    assert (plan.paused, plan.look_again_at) == (Plan.Pause.IN_HOSPITAL, None)
    assert not plan.check_ins.filter(state=CheckIn.State.ASKED).exists()


def test_a_waiting_message_is_recalled(plan, vet):
    assert plan.messages.filter(state=Message.State.READY).exists()
    admit(plan, staff=vet, why="Stasis.", now=at("16:31"))
    assert not plan.messages.filter(state=Message.State.READY).exists()


def test_an_emergency_that_is_in_a_clinic_is_in_hands_and_still_reviewed(plan, vet):
    answer(plan, at("20:45"), appetite="none", demeanour="collapsed")
    chase(now=at("20:46"))
    admit(plan, staff=vet, why="Brought in.", now=at("21:30"))
    flag = plan.flags.get(worst=Level.EMERGENCY, concern="behaviour")
    assert (flag.state, flag.acknowledged_by, flag.outcome, flag.next_alert_at) == (
        Flag.State.OPEN,
        vet,
        Flag.Outcome.SENT_TO,
        None,
    )


def test_a_task_asks_the_next_day_whether_it_went_home(plan, vet):
    admit(plan, staff=vet, why="Stasis.", now=ADMITTED)
    (task,) = Task.objects.due(at("09:00", day=3)).filter(plan=plan, kind=Task.Kind.LOOK)
    assert "Write the new plan when it goes home" in task.text
    home_again(plan, coming(), staff=vet, now=HOME)
    assert not Task.objects.open().filter(pk=task.pk).exists()


def test_going_home_begins_a_new_plan_with_its_own_evening(plan, vet):
    admit(plan, staff=vet, why="Stasis.", now=ADMITTED)
    home_again(plan, coming(), staff=vet, now=HOME)
    plan.refresh_from_db()

    assert (plan.paused, plan.version, plan.discharged_at, plan.home_again_at) == ("", 2, HOME, HOME)
    doses = plan.doses.filter(state=Dose.State.PLANNED, at__gt=HOME)
    assert times(doses) == ["15 10:00", "16 10:00"]  # a day after the clinic's, and the next
    asked = plan.check_ins.filter(state=CheckIn.State.PLANNED).order_by("at")
    assert times(asked)[:2] == ["14 18:30", "15 18:30"]
    assert compiled_of(plan).weight_alerts.monitor == 817
    assert plan.wound_reviews.filter(cancelled=False).count() == 2


def test_doses_that_fell_into_the_stay_are_nobodys(plan, vet):
    admit(plan, staff=vet, why="Stasis.", now=at("09:00", day=1))
    home_again(plan, coming(), staff=vet, now=HOME)
    assert [dose.number for medicine in compiled_of(plan).medication for dose in medicine.doses] == [1, 2]
    assert plan.doses.filter(state=Dose.State.CANCELLED).count() == 2


def test_what_was_seen_before_the_stay_is_settled_by_the_examination(plan, vet):
    answer(plan, at("08:00", day=2), appetite="none", demeanour="dull", **{"wound.edges": "gaping"})
    plan.refresh_from_db()
    assert plan.level == Level.EMERGENCY
    admit(plan, staff=vet, why="Opened wound, closed again.", now=ADMITTED)
    home_again(plan, coming(), staff=vet, now=HOME)
    plan.refresh_from_db()
    assert plan.level == Level.ON_TRACK
    assert recovery_of(plan).observations == ()

    answer(plan, at("18:45", day=4), appetite="none", faeces="fewer")
    plan.refresh_from_db()
    assert plan.level >= Level.MONITOR


def test_the_owner_hears_once_what_is_new(plan, vet):
    admit(plan, staff=vet, why="Stasis.", now=ADMITTED)
    home_again(plan, coming(), staff=vet, now=HOME)
    (news,) = plan.messages.filter(purpose=Message.Purpose.NEWS)
    assert "0.17 ml" in news.body  # 860 g: 0.086 mg of 0.5 mg/ml is 0.172 ml
    assert "Next dose tomorrow at 10:00, 2 doses to come" in news.body


def test_a_stay_without_a_painkiller_at_home_stops_it(plan, vet):
    admit(plan, staff=vet, why="Stasis.", now=at("09:00", day=1))
    home_again(plan, coming(home_medication=[]), staff=vet, now=HOME)
    assert not plan.doses.filter(state=Dose.State.PLANNED).exists()


def test_refusals(plan, vet):
    desk = staff(plan.practice, Role.FRONT_DESK)
    with pytest.raises(FollowUpError) as empty:
        admit(plan, staff=vet, why=" ", now=ADMITTED)
    assert empty.value.field == "why"
    with pytest.raises(NotInAClinic):
        home_again(plan, coming(), staff=vet, now=HOME)
    admit(plan, staff=desk, why="Stasis.", now=ADMITTED)
    with pytest.raises(AlreadyAdmitted):
        admit(plan, staff=vet, why="Stasis.", now=ADMITTED)
    with pytest.raises(NotYours):
        home_again(plan, coming(), staff=desk, now=HOME)
    with pytest.raises(FollowUpError, match="after the discharge"):
        home_again(plan, coming(last_ate_before_discharge_at=at("16:00", day=4).isoformat()), staff=vet, now=HOME)
    plan.refresh_from_db()
    assert (plan.paused, plan.version) == (Plan.Pause.IN_HOSPITAL, 1)


def test_the_morning_list_says_where_it_is_and_reproaches_nobody_with_silence(plan, vet):
    tick(now=at("22:00"), choose=Post())
    tick(now=at("08:00", day=1), choose=Post())
    admit(plan, staff=vet, why="Stasis.", now=at("09:00", day=1))
    plan.flags.update(state=Flag.State.REVIEWED, reviewed_at=at("09:05", day=1))
    found = morning_list(plan.practice, now=at("09:30", day=1))
    assert [(group.group, [row.need.words for row in group.rows if row.need]) for group in found.groups] == [
        (Group.IN_A_CLINIC, ["In a clinic since Tue 09:00: nothing is sent to the owner"])
    ]
    (row,) = found.groups[0].rows
    assert (row.food, row.heard) == ("", "")
