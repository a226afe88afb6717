"""Doses as they are told of: given, late, not given, gone wrong; what is answered, and what moves with it."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from clinic.models import Role
from followup.domain.terms import DoseOutcome, FollowUpError, Level
from followup.models import Dose, Observation, Plan, Task
from followup.services.chase import chase
from followup.services.dose_answer import answer_after, answer_before
from followup.services.facts import compiled_of
from followup.services.links import recipient_for
from followup.services.release import NothingHeld, release
from followup.services.reply import Incoming, Taken, take_reply
from followup.services.revise import Revision, revise
from followup.services.tick import tick
from followup.services.who_may import NotYours
from tests.services.post import Post
from tests.world import at, running_plan, staff

pytestmark = pytest.mark.django_db
_number = itertools.count()

DUE = at("10:00", day=1)
"""0.18 ml of 0.5 mg/ml, then and at 10:00 on day 2."""


@pytest.fixture
def plan() -> Plan:
    return running_plan()


def tell(plan: Plan, outcome: str, *, now=DUE, number: int = 1, **more: Any) -> Taken:
    dose = plan.doses.exclude(state=Dose.State.CANCELLED).get(number=number)
    raw = {"dose": {"id": dose.pk, "outcome": outcome, **more}}
    who = recipient_for(plan.practice, plan.patient.owner, now=now)
    return take_reply(plan, Incoming(f"dose {next(_number)}", raw), author=who, now=now)


def row(plan: Plan, number: int = 1) -> Dose:
    found: Dose = plan.doses.exclude(state=Dose.State.CANCELLED).get(number=number)
    return found


def clock(plan: Plan, number: int = 2) -> str:
    return f"{row(plan, number).at:%d %H:%M}"


def test_given_in_time_moves_nothing(plan):
    tell(plan, "given", now=at("10:20", day=1))
    assert (row(plan).outcome, row(plan).given_at) == (DoseOutcome.GIVEN, at("10:20", day=1))
    assert clock(plan) == "12 10:00"


def test_given_late_takes_the_next_one_its_reminder_and_the_cover_with_it(plan):
    tell(plan, "given", now=at("16:00", day=1))
    plan.refresh_from_db()
    assert clock(plan) == "12 16:00"
    assert [f"{dose.at:%d %H:%M}" for dose in compiled_of(plan).medication[0].doses] == ["11 10:00", "12 16:00"]
    gaps = [(f"{gap.starts:%d %H:%M}", f"{gap.ends:%d %H:%M}") for gap in compiled_of(plan).cover.gaps]
    assert gaps == [("11 10:00", "11 16:00")]
    tell(plan, "given", now=at("10:00", day=2).replace(hour=7, minute=31), number=1)  # told again: nothing new
    chase(now=at("10:00", day=2))
    assert row(plan, 2).reminded_at is None
    chase(now=at("16:00", day=2))
    assert row(plan, 2).reminded_at == at("16:00", day=2)


@pytest.mark.parametrize(
    ("now", "heading", "may_give"),
    [
        (at("09:30", day=1), "Wait until today at 10:00", False),
        (at("12:00", day=1), "Give it now: 0.18 ml meloxicam", True),
        (at("22:01", day=1), "Skip this dose", False),
    ],
)
def test_asked_before_it_is_told_the_answer_comes_at_once_and_writes_nothing(plan, now, heading, may_give):
    found = answer_before(plan, row(plan), now=now)
    assert (found.heading, found.may_give) == (heading, may_give)
    assert row(plan).state == Dose.State.PLANNED


def test_give_now_names_the_next_one_at_its_new_time(plan):
    found = answer_before(plan, row(plan), now=at("12:00", day=1))
    assert "The next dose is tomorrow at 12:00." in found.sentences
    late = answer_before(plan, row(plan), now=at("22:01", day=1))
    assert late.sentences[-1] == "The next dose is tomorrow at 10:00."


@pytest.mark.parametrize(
    ("outcome", "now", "heading"),
    [
        ("given", at("10:00", day=1), "Thank you, that is written down"),
        ("refused", at("12:00", day=1), "You can try again until today at 22:00"),
        ("missed", at("22:30", day=1), "Skip this dose"),
        ("spat_out", at("10:05", day=1), "Do not give it again"),
        ("vomited", at("10:05", day=1), "Do not give it again"),
        ("too_much", at("10:05", day=1), "Phone us before you give any more of it"),
    ],
)
def test_what_is_answered_to_what_was_told(plan, outcome, now, heading):
    tell(plan, outcome, now=now)
    assert answer_after(plan, row(plan), now=now).heading == heading


def test_refused_and_then_given_after_all(plan):
    tell(plan, "refused", now=at("10:05", day=1))
    tell(plan, "given", now=at("14:00", day=1))
    assert (row(plan).outcome, clock(plan)) == (DoseOutcome.GIVEN, "12 14:00")


def test_refused_cannot_become_given_when_it_is_too_late(plan):
    tell(plan, "refused", now=at("10:05", day=1))
    tell(plan, "given", now=at("22:30", day=1))
    assert row(plan).outcome == DoseOutcome.REFUSED


def test_a_slip_is_put_right_within_ten_minutes_and_not_later(plan):
    tell(plan, "given", now=at("10:00", day=1))
    tell(plan, "spat_out", now=at("10:10", day=1))
    assert row(plan).outcome == DoseOutcome.SPAT_OUT
    tell(plan, "given", now=at("10:21", day=1))
    assert row(plan).outcome == DoseOutcome.SPAT_OUT


def test_the_same_report_twice_is_one_dose(plan):
    tell(plan, "given", now=at("10:00", day=1))
    tell(plan, "given", now=at("10:08", day=1))
    assert Observation.objects.filter(facts__has_key="dose").count() == 1


@pytest.mark.parametrize(
    ("told", "more", "level"),
    [
        ("too_much", {"ml": "0.2"}, Level.MONITOR),
        ("too_much", {"ml": "0.3"}, Level.URGENT),
        ("too_much", {}, Level.URGENT),
        ("too_much", {"ml": "0.1"}, Level.URGENT),  # less than planned: nobody knows what was meant
        ("twice", {}, Level.URGENT),
        ("wrong_bottle", {"mg_per_ml": "1.5"}, Level.EMERGENCY),  # the stronger one: three times
        ("wrong_bottle", {}, Level.URGENT),
        ("into_the_lungs", {}, Level.EMERGENCY),
        ("to_another_animal", {}, Level.EMERGENCY),
        ("other_medicine", {"what": "ibuprofen syrup"}, Level.EMERGENCY),
        ("other_medicine", {"what": "drops of our dog"}, Level.URGENT),
        ("something_else", {}, Level.URGENT),
    ],
)
def test_a_mishap_is_weighed_by_its_row_and_holds_the_medicine(plan, told, more, level):
    tell(plan, told, **more)
    plan.refresh_from_db()
    assert plan.flags.get(concern="medicine").level == level
    assert row(plan, 2).held


def test_a_mishap_can_be_told_of_a_dose_that_was_given_and_it_stays_given(plan):
    tell(plan, "given", now=at("10:00", day=1))
    tell(plan, "too_much", now=at("15:00", day=1), ml="0.6")
    assert row(plan).outcome == DoseOutcome.GIVEN
    assert plan.flags.get(concern="medicine").level == Level.EMERGENCY


def test_only_a_vet_releases_what_is_held_and_then_it_is_asked_for_again(plan):
    vet, nurse = staff(plan.practice, Role.VET), staff(plan.practice, Role.NURSE)
    with pytest.raises(NothingHeld):
        release(plan, "meloxicam", staff=vet, decided="Go on.", now=DUE)
    tell(plan, "too_much", ml="0.2")
    chase(now=at("10:00", day=2))
    with pytest.raises(NotYours):
        release(plan, "meloxicam", staff=nurse, decided="Go on.", now=at("11:00", day=2))
    with pytest.raises(FollowUpError) as empty:
        release(plan, "meloxicam", staff=vet, decided=" ", now=at("11:00", day=2))
    assert empty.value.field == "decided"

    release(plan, "meloxicam", staff=vet, decided="One dose a little large: go on.", now=at("11:00", day=2))
    assert (row(plan, 2).held, row(plan, 2).reminded_at) == (False, None)
    assert plan.releases[0]["by"] == str(vet)
    chase(now=at("11:01", day=2))
    assert plan.messages.filter(doses__number=2, body__contains="Time for medicine").exists()


def test_a_dose_told_of_after_the_plan_had_changed_is_a_call_and_nothing_is_lost(plan):
    vet = staff(plan.practice, Role.VET)
    old = row(plan, 2)
    revise(plan, Revision(because="Loose droppings.", version=1), staff=vet, now=at("12:00", day=1))
    raw = {"dose": {"id": old.pk, "outcome": "given"}}
    who = recipient_for(plan.practice, plan.patient.owner, now=DUE)
    taken = take_reply(plan, Incoming("late page", raw, text="Gave it."), author=who, now=at("10:00", day=2))
    assert taken.reply.text == "Gave it."
    (task,) = Task.objects.open().filter(plan=plan, key__startswith="dose:")
    assert "after the plan had changed" in task.text


def test_staff_may_tell_for_the_owner(plan):
    nurse = staff(plan.practice, Role.NURSE)
    raw = {"dose": {"id": row(plan).pk, "outcome": "given", "given_at": at("13:00", day=1).isoformat()}}
    take_reply(plan, Incoming("by phone", raw), author=nurse, now=at("17:00", day=1))
    assert (row(plan).given_at, clock(plan)) == (at("13:00", day=1), "12 13:00")


def test_two_doses_running_not_taken_are_urgent_in_the_morning(plan):
    tell(plan, "missed", now=at("22:30", day=1))
    assert not plan.flags.filter(concern="medicine", level__gte=Level.URGENT).exists()
    tell(plan, "refused", number=2, now=at("10:05", day=2))
    assert plan.flags.get(concern="medicine").level == Level.URGENT


def test_a_dose_that_was_asked_for_and_then_held_is_asked_for_again_once_it_is_released(plan):
    vet = staff(plan.practice, Role.VET)
    plan.check_ins.update(state="answered")  # so that the dose goes by itself
    tick(now=at("10:00", day=2), choose=Post())
    tell(plan, "too_much", ml="0.2", now=at("10:05", day=2))
    assert row(plan, 2).held
    release(plan, "meloxicam", staff=vet, decided="Go on.", now=at("11:00", day=2))
    post = Post()
    tick(now=at("11:01", day=2), choose=post)
    assert [letter for letter in post.letters if "Time for medicine" in letter.body]


def test_a_held_message_that_went_out_does_not_stand_in_the_way_of_the_next(plan):
    vet = staff(plan.practice, Role.VET)
    tell(plan, "too_much", ml="0.2")
    tick(now=at("10:00", day=2), choose=Post())
    release(plan, "meloxicam", staff=vet, decided="Go on.", now=at("11:00", day=2))
    post = Post()
    tick(now=at("11:01", day=2), choose=post)
    assert [letter for letter in post.letters if "Time for medicine" in letter.body]


def test_told_next_morning_that_it_was_given_in_the_evening_moves_a_dose_that_was_asked_for_already(plan):
    plan.check_ins.filter(day=2, kind="waking").update(at=at("09:40", day=2), answer_by=at("13:40", day=2))
    tick(now=at("09:40", day=2), choose=Post())  # the dose of 10:00 shares this message
    assert row(plan, 2).reminded_at is not None
    tell(plan, "given", now=at("09:45", day=2), given_at=at("18:00", day=1).isoformat())
    assert (clock(plan), row(plan, 2).reminded_at) == ("12 18:00", None)
    post = Post()
    tick(now=at("18:00", day=2), choose=post)
    assert [letter for letter in post.letters if "Time for medicine" in letter.body]
