"""A vet signs a follow-up off: it closes, what has not happened never does, and the owner learns the late signs."""

from __future__ import annotations

import pytest

from clinic.models import Role
from followup.domain.terms import FollowUpError, Outcome
from followup.models import CheckIn, Dose, Message, Plan
from followup.services.sign_off import NotReady, reopen, sign_off, why_not
from followup.services.who_may import NotYours
from followup.services.wound_review import WoundLook, look_at_wound
from tests import world

pytestmark = pytest.mark.django_db

DAY_14 = world.at("07:40", day=14)


@pytest.fixture
def plan() -> Plan:
    """Both wound reviews done, nothing open."""
    made = world.running_plan()
    for due in made.wound_reviews.all():
        look_at_wound(
            due, WoundLook("dry", "go on"), staff=world.staff(made.practice), now=world.at("09:00", day=due.day)
        )
    return made


def test_on_the_morning_of_day_14_a_quiet_recovery_may_close(plan):
    assert why_not(plan, now=world.at("23:00", day=13)) != ()
    assert why_not(plan, now=DAY_14) == ()


def test_signing_off_closes_cancels_and_takes_leave(plan):
    sign_off(plan, staff=world.staff(plan.practice), outcome=Outcome.NONE, now=DAY_14)

    assert (plan.state, plan.outcome, plan.closed_at) == (Plan.State.CLOSED, "none", DAY_14)
    assert not plan.check_ins.filter(state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED]).exists()
    assert not plan.doses.filter(state=Dose.State.PLANNED).exists()
    waiting = plan.messages.to_owners().filter(state=Message.State.READY)
    assert [message.purpose for message in waiting] == [Message.Purpose.GOODBYE]
    assert "day 30" in waiting[0].body


def test_a_death_is_not_signed_off_as_an_outcome(plan):
    with pytest.raises(FollowUpError, match="has died"):
        sign_off(plan, staff=world.staff(plan.practice), outcome=Outcome.DIED, now=DAY_14)


@pytest.mark.parametrize("role", [Role.NURSE, Role.FRONT_DESK, Role.ADMINISTRATOR])
def test_only_a_vet_signs_off(plan, role):
    with pytest.raises(NotYours, match="only a vet"):
        sign_off(plan, staff=world.staff(plan.practice, role), outcome=Outcome.NONE, now=DAY_14)


def test_a_wound_not_looked_at_stands_against_it():
    plan = world.running_plan()

    with pytest.raises(NotReady, match=r"wound review of day 3 .* wound review of day 10"):
        sign_off(plan, staff=world.staff(plan.practice), outcome=Outcome.NONE, now=DAY_14)

    plan.refresh_from_db()
    assert plan.state == Plan.State.RUNNING


def test_it_is_signed_off_once(plan):
    vet = world.staff(plan.practice)
    sign_off(plan, staff=vet, outcome=Outcome.NONE, now=DAY_14)

    with pytest.raises(NotReady, match="ended already"):
        sign_off(plan, staff=vet, outcome=Outcome.LOST, now=DAY_14)

    plan.refresh_from_db()
    assert plan.outcome == Outcome.NONE


def test_it_goes_on_when_something_comes_up_before_day_30(plan):
    sign_off(plan, staff=world.staff(plan.practice), outcome=Outcome.NONE, now=DAY_14)

    assert reopen(plan, now=world.at("23:59", day=30))

    assert (plan.state, plan.outcome, plan.closed_at) == (Plan.State.RUNNING, "", None)
    assert not plan.messages.filter(state=Message.State.READY, purpose=Message.Purpose.GOODBYE).exists()


def test_after_day_30_it_stays_closed(plan):
    sign_off(plan, staff=world.staff(plan.practice), outcome=Outcome.NONE, now=DAY_14)

    assert not reopen(plan, now=world.at("00:00", day=31))
    plan.refresh_from_db()
    assert plan.state == Plan.State.CLOSED
