"""Putting an address right: kept, logged, its tasks done, and a first message that had failed goes out again."""

from __future__ import annotations

import pytest

from clinic.models import Owner, Role
from followup.domain.terms import FollowUpError
from followup.messaging.channel import Outcome, Sent
from followup.models import Message, Plan, Task
from followup.services.dispatch import send_due
from followup.services.mend_address import Addresses, mend_address
from followup.services.who_may import NotYours
from tests import world
from tests.services.post import Post
from tests.world import at

pytestmark = pytest.mark.django_db
SENT_AT, LATER = at("16:32"), at("16:35")
NEW = Addresses("robin.right@example.org", "", "")


@pytest.fixture
def plan() -> Plan:
    """Its first message was refused for good."""
    made = world.running_plan(of=world.owner(world.practice(), name="Robin", email="wrong@example.org", mobile=""))
    refuses = Post(Sent(Outcome.PERMANENT, "the mail server answered 550"))
    send_due(now=SENT_AT, choose=refuses, audience=Message.Audience.OWNER)
    return made


def mended(plan: Plan, new: Addresses = NEW, role: Role = Role.FRONT_DESK) -> bool:
    return mend_address(plan.patient.owner, new, staff=world.staff(plan.practice, role), now=LATER)


def first(plan: Plan):
    return plan.messages.filter(purpose="welcome").order_by("pk")


def test_the_first_message_goes_out_again_to_the_right_address(plan):
    assert mended(plan)
    post = Post()

    send_due(now=LATER, choose=post, audience=Message.Audience.OWNER)

    assert [(letter.to, letter.subject) for letter in post.letters] == [(NEW.email, first(plan)[0].subject)]
    assert [row.state for row in first(plan)] == [Message.State.FAILED, Message.State.SENT]


def test_the_call_in_its_place_and_the_task_to_mend_it_are_done(plan):
    recipient = first(plan)[0].recipient
    common = {"practice": plan.practice, "plan": plan, "text": "x", "due_at": SENT_AT, "made_at": SENT_AT}
    key = f"address:{plan.pk}:{recipient.pk}:email"
    Task.objects.get_or_create(practice=plan.practice, key=key, defaults={**common, "kind": Task.Kind.MEND_ADDRESS})
    other = Task.objects.create(
        **common, kind=Task.Kind.MEND_ADDRESS, key=f"address:{plan.pk}:{recipient.pk + 7}:email"
    )
    assert plan.tasks.open().filter(kind=Task.Kind.PHONE).count() == 1

    mended(plan)

    assert list(plan.tasks.open()) == [other]
    assert {task.done_by for task in plan.tasks.exclude(pk=other.pk)} == {world.staff(plan.practice, Role.FRONT_DESK)}


def test_it_is_sent_again_once_for_each_mending_and_never_when_one_has_arrived(plan):
    mended(plan)
    send_due(now=LATER, choose=Post(), audience=Message.Audience.OWNER)

    mended(plan, Addresses("robin.other@example.org", "", ""))

    assert first(plan).count() == 2


def test_the_change_is_logged_without_the_address(plan):
    mended(plan, Addresses("robin.right@example.org", "+447700900321", ""))

    event = plan.events.get(what="address_changed")
    assert event.text == "Robin: e-mail, mobile changed"
    assert event.staff == world.staff(plan.practice, Role.FRONT_DESK)


def test_the_same_addresses_change_nothing(plan):
    owner = plan.patient.owner

    assert not mended(plan, Addresses(owner.email, "", ""))
    assert not plan.events.filter(what="address_changed").exists()
    assert first(plan).count() == 1


def test_nobody_is_left_without_any_way_to_reach_him(plan):
    with pytest.raises(FollowUpError) as refused:
        mended(plan, Addresses("", "", ""))

    assert refused.value.field == "mobile"
    assert Owner.objects.get(pk=plan.patient.owner_id).email == "wrong@example.org"


def test_an_administrator_does_not_change_it(plan):
    with pytest.raises(NotYours):
        mended(plan, role=Role.ADMINISTRATOR)


def test_a_follow_up_that_has_ended_begins_nothing_anew(plan):
    Plan.objects.filter(pk=plan.pk).update(state=Plan.State.TAKEN_BACK)

    assert mended(plan)
    assert first(plan).count() == 1


def test_a_plan_that_runs_well_is_not_greeted_twice():
    plan = world.running_plan()
    send_due(now=SENT_AT, choose=Post(), audience=Message.Audience.OWNER)

    mended(plan)

    assert first(plan).count() == 1


def test_to_a_mobile_it_goes_in_the_words_of_a_text_message(plan):
    mended(plan, Addresses("", "+447700900321", ""))
    post = Post()

    send_due(now=LATER, choose=post, audience=Message.Audience.OWNER)

    again = first(plan)[1]
    assert (again.medium, again.short) == ("sms", first(plan)[0].short)
    assert post.letters[0].to == "+447700900321"
    assert len(post.letters[0].body) < len(again.body)
