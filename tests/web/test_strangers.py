"""Whoever works at one practice opens nothing of another: every page with something's number in its address, tried.

The list of pages is the program's own: a new page for which no sample is made here fails.
"""

from __future__ import annotations

import datetime as dt
import io
import uuid

import pytest
from django.test import Client
from django.urls import URLPattern, reverse
from PIL import Image

from clinic.models import Role
from followup.models import Flag, Message, Photo, Plan, Recipient, Task
from followup.services.photos import Upload, keep_photo
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from tests import world
from tests.owner_world import move_clock
from tests.pages import PAGES, POST_ONLY
from tests.test_architecture import OPEN_TO_ALL

pytestmark = pytest.mark.django_db

EVENING = world.at("20:00")
BY_ITS_KIND = {"followup:text"}
"""Pages whose address names a kind of thing and nobody's record: they show the visitor's own practice."""
WITH_A_NUMBER = sorted(name for name, page in PAGES.items() if "pk" in page.pattern.converters)


def a_recovery(slug: str) -> Plan:
    """A bleeding guinea pig, with one of everything that has a page."""
    plan = world.running_plan(where=world.practice(slug))
    raw = together({"appetite": ["normal"], "wound.bleeding": ["steady_drip"]})
    desk = world.staff(plan.practice, Role.FRONT_DESK)
    take_reply(plan, Incoming(uuid.uuid4().hex, raw), author=desk, now=EVENING)
    common = {"practice": plan.practice, "plan": plan}
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), "pink").save(picture, "JPEG")
    keep_photo(plan, Upload("a", picture, picture.tell()), reply=None, now=EVENING)
    world.on_call(plan.practice, world.staff(plan.practice, Role.NURSE))
    plan.practice.opening_exceptions.create(date=dt.date(2025, 12, 25), note="a holiday")
    Task.objects.create(**common, kind=Task.Kind.PHONE, key="a", text="Ring", due_at=EVENING, made_at=EVENING)
    return plan


def samples(plan: Plan) -> dict[str, int]:
    """What stands in each address, by how the address begins."""
    return {
        "plans/": plan.pk,
        "flags/": Flag.objects.get(plan=plan, concern="wound").pk,
        "reviews/": plan.wound_reviews.get(day=3).pk,
        "tasks/": Task.objects.get(plan=plan, key="a").pk,
        "doses/": plan.doses.earliest("pk").pk,
        "owners/": plan.patient.owner_id,
        "recipients/": plan.practice.recipients.earliest("pk").pk,
        "photos/": Photo.objects.get(plan=plan).pk,
        "practice/rota/shifts/": plan.practice.on_call_shifts.earliest("pk").pk,
        "practice/rota/days/": plan.practice.opening_exceptions.earliest("pk").pk,
        "tray/": Message.objects.filter(plan=plan).earliest("pk").pk,
    }


def address(name: str, plan: Plan) -> str:
    page: URLPattern = PAGES[name]
    begins = str(page.pattern).split("<")[0]
    assert begins in samples(plan), f"make a sample for {name} ({page.pattern})"
    return reverse(name, kwargs={"pk": samples(plan)[begins]})


@pytest.fixture
def ours(tmp_path, settings) -> Plan:
    settings.MEDIA_ROOT = tmp_path / "photos"
    move_clock(EVENING + dt.timedelta(minutes=10))
    return a_recovery("elm-street")


@pytest.fixture
def theirs() -> Plan:
    return a_recovery("other-street")


def logged_in(plan: Plan, role: Role = Role.VET) -> Client:
    visitor = Client()
    visitor.force_login(world.staff(plan.practice, role))
    return visitor


def test_every_closed_page_that_takes_anything_takes_a_number():
    """Else the tests below would pass it by."""
    taking = {name for name, page in PAGES.items() if page.pattern.converters} - OPEN_TO_ALL
    assert taking == (set(WITH_A_NUMBER) | BY_ITS_KIND) - OPEN_TO_ALL
    assert len(WITH_A_NUMBER) > 10


@pytest.mark.parametrize("name", WITH_A_NUMBER)
def test_a_record_of_another_practice_is_not_found(name, ours, theirs):
    visitor, foreign = logged_in(ours), address(name, theirs)

    if name not in POST_ONLY:
        assert visitor.get(foreign).status_code == 404
    before = state_of(theirs)
    assert visitor.post(foreign, {"found": "x", "done": "x", "decision": "x", "result": "x"}).status_code in {404, 405}
    assert state_of(theirs) == before


@pytest.mark.parametrize("name", [name for name in WITH_A_NUMBER if name not in POST_ONLY])
def test_the_same_page_opens_for_our_own(name, ours):
    """Without this, a page that is broken for everybody would pass for closed."""
    answer = logged_in(ours).get(address(name, ours))

    assert answer.status_code == 200
    answer.close()  # the photo's file


def test_somebody_who_works_nowhere_any_more_opens_nothing(ours):
    visitor = logged_in(ours)
    ours.practice.memberships.update(active=False)

    for name in ["followup:morning", "followup:enrol"]:
        assert visitor.get(reverse(name)).status_code == 403


def test_the_morning_list_shows_no_patient_of_another_practice(ours, theirs):
    theirs.patient.name = "Stranger"
    theirs.patient.save()
    Task.objects.create(
        practice=theirs.practice,
        kind=Task.Kind.MEND_ADDRESS,
        key="b",
        text="Ring Stranger",
        due_at=EVENING,
        made_at=EVENING,
    )

    page = logged_in(ours).get(reverse("followup:morning")).content.decode()

    assert ours.patient.name in page
    assert "Stranger" not in page
    assert not Recipient.objects.filter(practice=ours.practice, person=theirs.patient.owner).exists()


def state_of(plan: Plan) -> list[tuple[object, ...]]:
    """Everything about a plan that a page of staff could change."""
    return [
        *Plan.objects.filter(pk=plan.pk).values_list("state", "level", "outcome", "case"),
        *Flag.objects.filter(plan=plan).order_by("pk").values_list("state", "found", "acknowledged_by"),
        *plan.wound_reviews.values_list("done_at", "found"),
        *plan.tasks.order_by("pk").values_list("done_at", "result"),
        *plan.messages.order_by("pk").values_list("state", "attempts"),
        *plan.practice.on_call_shifts.values_list("pk", "staff"),
        *plan.practice.opening_exceptions.values_list("date"),
        (plan.replies.count(), plan.events.count()),
    ]
