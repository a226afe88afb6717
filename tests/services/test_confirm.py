"""A vet confirms by name, once; a slip is taken back before the owner has heard of it."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.models import Flag, Message, Plan, Task
from followup.services.confirm import NotWaiting, confirm
from followup.services.draft import NewRecovery
from followup.services.enrol import enrol
from followup.services.take_back import TooLate, may_be_taken_back, take_back
from followup.services.who_may import NotYours
from tests import world
from tests.world import at

pytestmark = pytest.mark.django_db
HOME = at("16:30")
LATER = at("16:45")


@pytest.fixture
def waiting():
    request = world.recovery()
    del request.facts["home_medication"]
    return enrol(request, staff=world.staff(request.practice, Role.NURSE), now=HOME)


def test_a_vet_of_the_practice_begins_the_plan(waiting):
    vet = world.staff(waiting.practice, Role.VET)

    confirm(waiting, staff=vet, now=LATER)

    assert (waiting.state, waiting.confirmed_by, waiting.confirmed_at) == (Plan.State.RUNNING, vet, LATER)
    assert waiting.doses.count() == 2
    assert waiting.messages.get().not_before == LATER + dt.timedelta(minutes=2)
    assert waiting.tasks.get(kind=Task.Kind.CONFIRM_PLAN).done_by == vet


@pytest.mark.parametrize("role", [Role.FRONT_DESK, Role.NURSE, Role.ADMINISTRATOR])
def test_nobody_else_does(waiting, role):
    with pytest.raises(NotYours, match="only a vet"):
        confirm(waiting, staff=world.staff(waiting.practice, role), now=LATER)

    waiting.refresh_from_db()
    assert waiting.state == Plan.State.WAITING_FOR_VET
    assert not waiting.doses.exists()


def test_a_vet_of_another_practice_does_not_either(waiting):
    stranger = world.staff(world.practice("other-street"), Role.VET)

    with pytest.raises(NotYours):
        confirm(waiting, staff=stranger, now=LATER)


def test_the_second_vet_learns_who_was_first(waiting):
    first, second = (world.staff(waiting.practice, Role.VET, name) for name in ("Ada Vet", "Bo Vet"))
    confirm(waiting, staff=first, now=LATER)

    with pytest.raises(NotWaiting, match="Ada Vet confirmed the plan of Pip at 16:45"):
        confirm(waiting, staff=second, now=LATER)

    assert waiting.doses.count() == 2
    assert waiting.confirmed_by == first


def test_within_two_minutes_everything_is_undone_and_may_be_done_again():
    request = world.recovery()
    desk = world.staff(request.practice, Role.FRONT_DESK)
    plan = enrol(request, staff=desk, now=HOME)

    take_back(plan, staff=desk, now=HOME + dt.timedelta(seconds=119))

    assert plan.state == Plan.State.TAKEN_BACK
    assert set(plan.messages.values_list("state", flat=True)) == {Message.State.CANCELLED}
    assert not plan.check_ins.exclude(state="cancelled").exists()
    assert not plan.doses.exclude(state="cancelled").exists()
    assert not Flag.objects.open().exists()
    again = enrol(
        NewRecovery(request.practice, request.owner, request.patient, request.facts, key="again"),
        staff=desk,
        now=HOME + dt.timedelta(minutes=3),
    )
    assert again.state == Plan.State.RUNNING


@pytest.mark.parametrize(("seconds", "may"), [(0, True), (119, True), (120, False), (3600, False)])
def test_two_minutes_and_no_longer(seconds, may):
    plan = world.running_plan()

    assert may_be_taken_back(plan, now=HOME + dt.timedelta(seconds=seconds)) is may


def test_what_the_owner_has_read_of_is_not_taken_back():
    plan = world.running_plan()
    plan.messages.update(state=Message.State.SENT, sent_at=HOME)

    with pytest.raises(TooLate, match="cannot be taken back any more"):
        take_back(plan, staff=plan.enrolled_by, now=HOME)

    plan.refresh_from_db()
    assert plan.state == Plan.State.RUNNING


def test_a_plan_that_waits_for_a_vet_is_taken_back_at_any_time(waiting):
    take_back(waiting, staff=waiting.enrolled_by, now=at("09:00", day=1))

    assert waiting.state == Plan.State.TAKEN_BACK
    assert not waiting.tasks.open().exists()
