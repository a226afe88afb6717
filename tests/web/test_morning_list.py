"""The morning list: each patient once, in his worst group, with the reason, the numbers and the telephone."""

from __future__ import annotations

import datetime as dt
import re
import uuid

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Flag, Heartbeat, Photo, Plan, Recipient, Verdict
from followup.services.assess import assess
from followup.services.mark_seen import mark_seen
from followup.services.morning_list import MorningList, morning_list
from followup.services.needs import Group
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.review import Looked, review
from followup.services.wound_review import WoundLook, look_at_wound
from tests import world
from tests.owner_world import move_clock
from tests.world import at

pytestmark = pytest.mark.django_db

MORNING = at("07:40", day=1)
FINE = {
    "appetite": "normal",
    "last_ate_at": "under_2_hours",
    "faeces": "normal",
    "last_faeces_at": "under_2_hours",
    "demeanour": "bright",
}


def told(plan: Plan, now: dt.datetime, **answers: str) -> None:
    raw = together({key.replace("__", "."): [value] for key, value in answers.items()})
    desk = world.staff(plan.practice, Role.FRONT_DESK)
    take_reply(plan, Incoming(uuid.uuid4().hex, raw), author=desk, now=now)


def time_passes(plan: Plan, now: dt.datetime) -> None:
    plan.refresh_from_db()
    assess(plan, now=now, cause=Verdict.Cause.TIME)


def well_at_bedtime(name: str = "Pip") -> Plan:
    plan = world.running_plan()
    plan.patient.name = name
    plan.patient.save()
    for now in (at("18:40"), at("20:50")):
        told(plan, now, **FINE)
    return plan


def fine(name: str = "Pip") -> Plan:
    """Asked in the evening and on waking, and well each time."""
    plan = well_at_bedtime(name)
    told(plan, at("07:35", day=1), **FINE)
    return plan


def shown(now: dt.datetime = MORNING) -> MorningList:
    return morning_list(world.practice(), now=now)


def names(group: Group, now: dt.datetime = MORNING) -> list[str]:
    found = shown(now)
    rows = found.on_track if group is Group.ON_TRACK else [r for g in found.groups if g.group is group for r in g.rows]
    return [row.plan.patient.name for row in rows if row.plan is not None]


def page(role: Role = Role.VET, now: dt.datetime = MORNING) -> str:
    move_clock(now)
    visitor = Client()
    visitor.force_login(world.staff(world.practice(), role))
    return visitor.get(reverse("followup:morning")).content.decode()


def test_nobody_needs_you_when_that_is_so():
    fine("Pip")

    found = shown()

    assert (found.needing, found.groups) == (0, ())
    assert names(Group.ON_TRACK) == ["Pip"]
    Heartbeat.objects.beat("tick", MORNING)
    assert "Nobody needs you." in page()
    assert re.search(r"<details[^>]*>\s*<summary>On track", page())  # folded: no `open`
    assert "<title>Morning list</title>" in page()


def test_a_practice_without_patients_is_told_the_same():
    world.practice()
    Heartbeat.objects.beat("tick", MORNING)

    assert "Nobody needs you." in page()


def test_an_empty_list_comforts_nobody_while_the_program_has_not_looked():
    world.practice()
    Heartbeat.objects.beat("tick", MORNING - dt.timedelta(minutes=4))

    text = page()

    assert "Nobody needs you." not in text
    assert "the program has not looked" in text


def test_an_emergency_in_the_night_stands_first_with_its_numbers():
    plan = well_at_bedtime()
    told(plan, at("02:30", day=1), appetite="none", wound__bleeding="steady_drip")

    found = shown()

    assert names(Group.ACT_NOW) == ["Pip"]
    (row,) = found.groups[0].rows
    flag = plan.flags.get(concern="wound")
    assert row.need is not None
    assert (row.day, row.flag, row.need.words) == (1, flag, flag.because)
    assert row.heard == "5"  # 02:30 to 07:40
    assert found.top.night[0] == ("emergency", 1)
    text = page()
    assert "<title>(1) Morning list</title>" in text
    assert f'href="tel:{plan.patient.owner.phone}"' in text
    assert "nobody has acknowledged" in text
    assert flag.owner_told in text


def test_an_emergency_stays_on_top_after_a_good_answer_until_somebody_has_it_and_says_what_came_of_it():
    plan = well_at_bedtime()
    told(plan, at("02:30", day=1), appetite="normal", wound__bleeding="steady_drip")
    told(plan, at("07:35", day=1), appetite="normal", wound__bleeding="none")
    assert names(Group.ACT_NOW) == ["Pip"]

    vet = world.staff(plan.practice)
    Flag.objects.filter(plan=plan, concern="wound").update(
        acknowledged_by=vet, acknowledged_at=at("02:40", day=1), outcome="spoken_to", outcome_at=at("02:50", day=1)
    )

    assert names(Group.ACT_NOW) == []
    assert names(Group.CALL_TODAY) == ["Pip"]
    assert f"{vet} has it, 02:40: spoken to" in page()


def test_urgent_is_a_call_and_monitor_a_look():
    urgent, monitor = fine("Bean"), fine("Pip")
    told(urgent, at("07:36", day=1), **FINE, worried="very")
    told(monitor, at("07:36", day=1), **FINE, worried="a_little")

    assert names(Group.CALL_TODAY) == ["Bean"]
    assert names(Group.LOOK) == ["Pip"]


def test_hours_without_food_are_the_bounds_that_the_answers_allow():
    """Home having eaten at 15:00; at 20:45 nothing: eaten last somewhere from 15:00 to 20:45, said at 23:00."""
    told(world.running_plan(), at("20:45"), appetite="none")

    (row,) = shown(at("23:00")).groups[0].rows

    assert row.food == "2 to 8 h without food"


def test_a_patient_stands_once_in_his_worst_group_and_says_how_much_more_there_is():
    plan = fine()
    told(plan, at("07:36", day=1), **FINE, worried="a_little", wound__bleeding="steady_drip")

    found = shown()

    assert [group.group for group in found.groups] == [Group.ACT_NOW]
    (row,) = found.groups[0].rows
    assert row.more
    assert found.needing == 1


def test_a_monitor_flag_that_settled_is_shown_until_seen():
    plan = fine()
    told(plan, at("07:36", day=1), **FINE, worried="a_little")
    told(plan, at("08:20", day=1), **FINE, worried="no")
    later = at("09:00", day=1)
    assert names(Group.LOOK, later) == ["Pip"]
    assert "Settled by a good answer" in page(now=later)

    mark_seen(plan, staff=world.staff(plan.practice), now=later)

    assert names(Group.LOOK, at("09:01", day=1)) == []


def test_a_wound_review_that_is_due_and_a_photo_wait_for_eyes():
    plan = fine()
    day_3 = at("12:00", day=3)
    told(plan, day_3, **FINE)
    assert "Wound review of day 3, no photo yet" in needs(day_3)
    Photo.objects.create(practice=plan.practice, plan=plan, client_id="a", file="a.jpg", received_at=day_3)
    assert "Wound review of day 3, 1 photo" in needs(day_3)

    due = plan.wound_reviews.get(day=3)
    later = at("12:10", day=3)
    look_at_wound(due, WoundLook("dry", "go on"), staff=world.staff(plan.practice), now=later)

    assert needs(later) == []


def needs(now: dt.datetime) -> list[str]:
    return [each.words for group in shown(now).groups for row in group.rows for each in (row.need, *row.more) if each]


def test_who_has_not_been_heard_from_is_listed_as_such():
    plan = world.running_plan()
    told(plan, at("18:40"), **FINE)
    for now in (at("22:00"), at("07:00", day=1)):
        time_passes(plan, now)
    silent = at("11:40", day=1)
    time_passes(plan, silent)

    newest = plan.verdicts.latest("at")
    assert newest.body["heard"]["state"] == "not_heard_from"
    assert names(Group.ON_TRACK, silent) == []
    (row,) = shown(silent).groups[0].rows
    assert int(row.heard) == 17  # 18:40 to 11:40
    assert row.food == "0 to 2 h without food when last heard"  # "under 2 hours"; the clock stands while nobody answers


def test_words_are_a_line_until_they_are_read():
    plan = fine()
    recipient = Recipient.objects.get(messages__plan=plan, messages__purpose="welcome")
    take_reply(plan, Incoming("w", {}, text="He likes his new hay"), author=recipient, now=at("07:36", day=1))

    assert names(Group.LOOK) == ["Pip"]


def test_a_plan_that_waits_for_a_vet_is_one_click_for_a_vet_and_none_for_others():
    plan = world.running_plan()
    Plan.objects.filter(pk=plan.pk).update(state=Plan.State.WAITING_FOR_VET)
    address = reverse("followup:confirm", kwargs={"pk": plan.pk})

    assert names(Group.TO_CONFIRM) == ["Pip"]
    assert f'action="{address}"' in page(Role.VET)
    assert f'action="{address}"' not in page(Role.NURSE)
    assert "Plan entered by Front desk" in page(Role.NURSE)


def test_day_14_asks_for_a_sign_off():
    plan = fine()
    for due in plan.wound_reviews.all():
        look_at_wound(due, WoundLook("dry", "-"), staff=world.staff(plan.practice), now=at("09:00", day=due.day))

    assert "Day 14: sign off" in needs(at("07:40", day=14))


def test_a_reviewed_flag_is_off_the_list():
    plan = well_at_bedtime()
    told(plan, at("02:30", day=1), appetite="normal", wound__bleeding="steady_drip")
    told(plan, at("07:35", day=1), **FINE, wound__bleeding="none")
    flag = plan.flags.open().get(concern="wound")

    review(
        flag, Looked("a scab", "pressed", really=Level.URGENT), staff=world.staff(plan.practice), now=at("07:38", day=1)
    )

    assert names(Group.ACT_NOW) == names(Group.CALL_TODAY) == []


def test_as_many_questions_to_the_database_for_thirty_patients_as_for_one():
    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert shown().needing == Plan.objects.count()
        return len(queries)

    def bleeding() -> None:
        plan = world.running_plan()
        told(plan, at("02:30", day=1), appetite="none", wound__bleeding="steady_drip", worried="a_little")
        Photo.objects.create(
            practice=plan.practice, plan=plan, client_id=str(plan.pk), file="a.jpg", received_at=at("03:00", day=1)
        )

    bleeding()
    for_one = asked()
    for _each in range(29):
        bleeding()

    assert asked() == for_one == 17
