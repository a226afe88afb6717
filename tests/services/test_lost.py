"""Lost to follow-up: two failed calls and a week propose it, a person confirms it. Clinical defaults, 5."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.domain.terms import FollowUpError, Outcome
from followup.models import Flag, Plan, Task
from followup.services.finish_task import CameOfIt, finish_task
from followup.services.links import recipient_for
from followup.services.lost import lost, record_failed_call
from followup.services.reply import Incoming, take_note
from followup.services.sign_off import sign_off
from followup.services.wound_review import WoundLook, look_at_wound
from tests import world
from tests.services.silent import GOOD, owner_says
from tests.world import at

pytestmark = pytest.mark.django_db

TEN, TWO, SIX = (at(clock, day=1) for clock in ("10:00", "14:00", "18:00"))


@pytest.fixture
def plan() -> Plan:
    """Pip, home at 16:30; nobody has said a word."""
    return world.running_plan()


DAY_8 = at("09:00", day=8)


DAY_8 = at("09:00", day=8)


@pytest.fixture
def gone(plan: Plan) -> Plan:
    """Last heard on the evening of day 0; both wound reviews done, no flag open."""
    owner_says(plan, at("20:50"), **GOOD)
    for due in plan.wound_reviews.all():
        look_at_wound(due, WoundLook("no photo", "ring"), staff=world.staff(plan.practice), now=at("09:00", day=8))
    return plan


def ring(plan: Plan, call: str, now: dt.datetime) -> bool:
    return record_failed_call(plan, staff=world.staff(plan.practice, Role.FRONT_DESK), call=call, now=now)


def test_two_failed_calls_and_a_week_propose_lost(gone):
    assert ring(gone, "a", at("10:00", day=2))
    assert not ring(gone, "a", at("10:01", day=2))  # the same page sent twice
    assert lost(gone, now=DAY_8) is None
    assert ring(gone, "b", at("10:00", day=4))

    found = lost(gone, now=DAY_8)
    assert found is not None
    assert (found.days, len(found.calls), found.heard_at) == (7, 2, at("20:50"))
    assert lost(gone, now=at("20:49", day=7)) is None
    gone.refresh_from_db()
    assert (gone.state, gone.outcome) == (Plan.State.RUNNING, "")  # a person confirms


@pytest.mark.parametrize("word", ["answers", "words", "a photo", "a weight"])
def test_any_word_ends_the_proposal(gone, word):
    ring(gone, "a", at("10:00", day=2))
    ring(gone, "b", at("10:00", day=4))
    now = at("12:00", day=7)
    if word == "answers":
        owner_says(gone, now, **GOOD)
    elif word == "a weight":
        owner_says(gone, now, weight_g=["890"])
    elif word == "words":
        author = recipient_for(gone.practice, gone.patient.owner, now=now)
        take_note(author, Incoming("w", {"note": "x"}, "Sorry, we moved"), plan=gone, now=now)
    else:
        gone.photos.create(practice=gone.practice, client_id="p", file="x.jpg", received_at=now, state="shown")

    assert lost(gone, now=DAY_8) is None


def test_the_task_of_a_call_counts_when_nobody_answered(gone):
    for number in (1, 2):
        about = {"kind": Task.Kind.PHONE, "text": "Ring", "due_at": DAY_8, "made_at": DAY_8}
        task = Task.objects.create(practice=gone.practice, plan=gone, key=f"call {number}", **about)
        finish_task(task, CameOfIt("", no_answer=True), staff=world.staff(gone.practice), now=at("10:00", day=number))
        assert task.result == "Nobody answered the phone."

    assert lost(gone, now=DAY_8) is not None


def test_lost_is_signed_off_as_lost_and_never_as_well(gone):
    ring(gone, "a", at("10:00", day=2))
    ring(gone, "b", at("10:00", day=4))
    gone.flags.update(state=Flag.State.ENDED)
    day_14, vet = at("10:00", day=14), world.staff(gone.practice)

    with pytest.raises(FollowUpError, match="lost to follow-up, not well"):
        sign_off(gone, staff=vet, outcome=Outcome.NONE, now=day_14)
    gone.refresh_from_db()
    assert gone.state == Plan.State.RUNNING

    sign_off(gone, staff=vet, outcome=Outcome.LOST, now=day_14)
    assert gone.outcome == "lost"


def test_a_call_about_a_follow_up_that_has_ended_is_refused(gone):
    Plan.objects.update(state=Plan.State.CLOSED, outcome="none", closed_at=DAY_8)
    gone.refresh_from_db()

    with pytest.raises(FollowUpError, match="not running"):
        ring(gone, "a", DAY_8)
