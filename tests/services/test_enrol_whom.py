"""Whom an enrolment is about, and by what protocol: carers, practices, providers, versions; all that a slip undoes."""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest

from clinic.models import Carer
from followup.models import Flag, Plan, ProtocolVersion
from followup.services.begin import TAKE_BACK_WITHIN
from followup.services.draft import NewOwner, draft
from followup.services.enrol import enrol
from followup.services.sheet import NotConfirmed, sheet_of
from followup.services.take_back import take_back
from tests import world
from tests.world import at

pytestmark = pytest.mark.django_db
HOME = at("16:30")


def enrolled(request):
    return enrol(request, staff=world.staff(request.practice, "front_desk"), now=HOME)


def warnings(request):
    return " ".join(each.message for each in draft(request).compiled.problems)


def with_carer(*, second):
    carer = NewOwner("Lee Example", email="lee@example.org")
    return dataclasses.replace(world.recovery(), carer=carer, carer_is_second=second)


def test_a_second_carer_has_a_link_and_no_first_message():
    plan = enrolled(with_carer(second=True))

    assert Carer.objects.get().second
    assert plan.practice.recipients.filter(person__name="Lee Example", part="second_carer").exists()
    assert [each.recipient.person for each in plan.messages.all()] == [plan.patient.owner]


def test_a_carer_in_the_owner_s_place_gets_the_first_message_and_the_owner_none():
    plan = enrolled(with_carer(second=False))

    assert [each.recipient.person.name for each in plan.messages.all()] == ["Lee Example"]


def test_the_same_form_id_at_another_practice_is_another_form():
    """Ids are made by browsers: one practice never sees the other's plan."""
    first = enrolled(world.recovery())
    other = dataclasses.replace(world.recovery(where=world.practice("oak-lane")), key="one id")
    again = dataclasses.replace(world.recovery(), key="one id")

    assert enrolled(other).practice.slug == "oak-lane"
    assert enrolled(again).practice == first.practice


def test_without_an_out_of_hours_provider_the_plan_says_so():
    request = world.recovery()
    assert "No out-of-hours provider" not in warnings(request)

    request.practice.providers.filter(species="guinea_pig").delete()

    fresh = dataclasses.replace(request, practice=type(request.practice).objects.get(pk=request.practice.pk))
    assert "No out-of-hours provider is written down for this species" in warnings(fresh)


def test_a_draft_protocol_is_used_with_a_warning_and_an_approved_one_before_a_newer_draft():
    request = world.recovery()
    first = ProtocolVersion.objects.get(name="guinea_pig_castration")
    assert "it is a draft" in warnings(request)

    ProtocolVersion.objects.filter(pk=first.pk).update(
        approved_at=HOME, approved_by=world.staff(request.practice, "vet")
    )
    ProtocolVersion.objects.create(
        practice=request.practice, name=first.name, version=first.version + 1, text=first.text
    )

    assert "it is a draft" not in warnings(request)
    assert draft(request).version == first


def test_a_slip_leaves_no_review_and_no_flag_open():
    plan = enrolled(world.recovery())
    Flag.objects.create(
        practice=plan.practice, plan=plan, concern="worry", level=1, worst=1, because="x", rules=[],
        opened_at=HOME, raised_at=HOME, updated_at=HOME,
    )  # fmt: skip

    take_back(plan, staff=world.staff(plan.practice, "front_desk"), now=HOME + TAKE_BACK_WITHIN / 2)

    assert not plan.wound_reviews.filter(cancelled=False).exists()
    assert not plan.flags.open().exists()


def test_of_a_plan_that_was_taken_back_no_sheet_is_printed():
    plan = enrolled(world.recovery())

    take_back(plan, staff=world.staff(plan.practice, "front_desk"), now=HOME + dt.timedelta(seconds=5))

    with pytest.raises(NotConfirmed):
        sheet_of(plan, now=HOME)


def test_of_a_plan_that_waits_no_sheet_is_printed():
    request = world.recovery()
    del request.facts["home_medication"]
    plan = enrolled(request)
    assert plan.state == Plan.State.WAITING_FOR_VET

    with pytest.raises(NotConfirmed, match="waits for a vet, or was taken back"):
        sheet_of(plan, now=HOME)
