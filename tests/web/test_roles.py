"""What each role may open and do: asked on the server, whatever the page shows."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.models import Event, Flag, Message, Plan
from tests import world
from tests.owner_world import move_clock
from tests.services.test_review import bleeding

pytestmark = pytest.mark.django_db

DESK, NURSE, VET, ADMIN = Role.FRONT_DESK, Role.NURSE, Role.VET, Role.ADMINISTRATOR
EVERYBODY = [DESK, NURSE, VET, ADMIN]

MAY_OPEN = [
    ("morning", EVERYBODY),
    ("patient", EVERYBODY),
    ("phone_answers", EVERYBODY),  # whoever answers the phone
    ("died", EVERYBODY),
    ("sheet", EVERYBODY),
    ("task_done", EVERYBODY),
    ("enrol", {DESK, NURSE, VET}),
    ("review_flag", {NURSE, VET}),
    ("wound_review", {NURSE, VET}),
    ("sign_off", {VET}),
    ("revise", {NURSE, VET}),
    ("versions", EVERYBODY),
    ("admit", {DESK, NURSE, VET}),
    ("home_again", {VET}),
    ("record_dose", {DESK, NURSE, VET}),
    ("release", {VET}),
    ("owner_hours", {DESK, NURSE, VET}),
    ("owner_address", {DESK, NURSE, VET}),
    ("recipient_messages", {DESK, NURSE, VET}),
    ("first_message", EVERYBODY),
    ("sending", EVERYBODY),
    ("rota", EVERYBODY),
    ("shift", {VET, ADMIN}),
    ("texts", {VET, ADMIN}),
    ("text", {VET, ADMIN}),
    ("channels", {VET, ADMIN}),
    ("channel_email", {VET, ADMIN}),
    ("channel_sms", {VET, ADMIN}),
    ("channel_chat", {VET, ADMIN}),
]
WITHOUT_A_NUMBER = {
    "morning",
    "enrol",
    "sending",
    "rota",
    "texts",
    "channels",
    "channel_email",
    "channel_sms",
    "channel_chat",
}


def logged_in(plan: Plan, role: Role) -> Client:
    visitor = Client()
    visitor.force_login(world.staff(plan.practice, role))
    return visitor


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    bleeding(made)
    seven = world.at("19:00")
    made.tasks.create(
        practice=made.practice,
        kind="phone",
        key="ring",
        text="Ring",
        due_at=seven,
        made_at=seven,
    )
    move_clock(world.at("20:10"))
    return made


def address(plan: Plan, name: str) -> str:
    numbers = {
        "review_flag": lambda: plan.flags.get(concern="wound").pk,
        "wound_review": lambda: plan.wound_reviews.get(day=3).pk,
        "task_done": lambda: plan.tasks.get(key="ring").pk,
        "record_dose": lambda: plan.doses.earliest("pk").pk,
        "release": lambda: plan.doses.earliest("pk").pk,
        "owner_hours": lambda: plan.patient.owner_id,
        "owner_address": lambda: plan.patient.owner_id,
        "recipient_messages": lambda: plan.practice.recipients.earliest("pk").pk,
        "shift": lambda: world.on_call(plan.practice, world.staff(plan.practice, NURSE)).pk,
    }
    if name in WITHOUT_A_NUMBER:
        return reverse(f"followup:{name}")
    if name == "text":
        return reverse("followup:text", kwargs={"key": "check_in"})
    return reverse(f"followup:{name}", kwargs={"pk": numbers.get(name, lambda: plan.pk)()})


@pytest.mark.parametrize("role", EVERYBODY)
@pytest.mark.parametrize(("name", "may"), MAY_OPEN)
def test_who_may_open_what(plan, name, may, role):
    assert logged_in(plan, role).get(address(plan, name)).status_code == (200 if role in may else 403)


@pytest.mark.parametrize(
    ("role", "status", "state"),
    [(DESK, 403, "open"), (ADMIN, 403, "open"), (NURSE, 403, "open"), (VET, 302, "reviewed")],
)
def test_an_emergency_is_closed_by_a_vet_alone(plan, role, status, state):
    answer = logged_in(plan, role).post(
        address(plan, "review_flag"), {"found": "a scab", "done": "pressed on it", "really": "monitor"}
    )

    assert answer.status_code == status
    assert Flag.objects.get(plan=plan, concern="wound").state == state


def test_a_nurse_who_may_not_close_it_loses_nothing_typed(plan):
    page = logged_in(plan, NURSE).post(
        address(plan, "review_flag"), {"found": "a scab", "done": "pressed on it", "really": "monitor"}
    )

    assert "only a vet may do this" in page.content.decode()
    assert ">a scab</textarea>" in page.content.decode()


@pytest.mark.parametrize("role", [DESK, NURSE, ADMIN])
def test_nobody_but_a_vet_signs_off_or_confirms(plan, role):
    visitor = logged_in(plan, role)

    assert visitor.post(address(plan, "sign_off"), {"outcome": "none"}).status_code == 403
    assert visitor.post(reverse("followup:confirm", kwargs={"pk": plan.pk})).status_code == 403
    plan.refresh_from_db()
    assert plan.state == Plan.State.RUNNING


@pytest.mark.parametrize("role", [DESK, ADMIN])
def test_what_is_new_is_seen_by_those_who_can_judge_it(plan, role):
    assert logged_in(plan, role).post(reverse("followup:seen", kwargs={"pk": plan.pk})).status_code == 403
    assert not Event.objects.filter(plan=plan, what="seen").exists()


def test_whoever_is_told_of_a_death_records_it_and_all_of_it_ends(plan):
    logged_in(plan, DESK).post(address(plan, "died"))

    plan.refresh_from_db()
    assert (plan.state, plan.outcome) == (Plan.State.CLOSED, "died")
    assert not plan.flags.open().exists()
    assert not plan.messages.to_owners().filter(state=Message.State.READY).exists()


@pytest.mark.parametrize(("role", "offered"), [(DESK, 0), (NURSE, 0), (VET, 1)])
def test_a_step_that_a_role_may_not_take_is_not_offered(plan, role, offered):
    page = logged_in(plan, role).get(address(plan, "patient")).content.decode()

    assert page.count(f'href="{address(plan, "sign_off")}"') == offered
    assert page.count(f'href="{address(plan, "review_flag")}"') == offered


@pytest.mark.parametrize(("role", "offered"), [(DESK, 0), (ADMIN, 0), (NURSE, 1), (VET, 1)])
def test_the_morning_list_offers_a_review_to_those_who_may_open_it(plan, role, offered):
    page = logged_in(plan, role).get(address(plan, "morning")).content.decode()

    assert page.count(f'href="{address(plan, "review_flag")}"') == offered
    assert f'href="{address(plan, "patient")}"' in page


def test_whoever_has_an_emergency_writes_down_what_came_of_it_from_the_list(plan):
    flag = plan.flags.get(concern="wound")
    desk, pages = logged_in(plan, DESK), {"acknowledge": "I have it", "outcome": "What came of it?"}
    there = {name: reverse(f"followup:{name}", kwargs={"pk": flag.pk}) for name in pages}

    assert there["acknowledge"] in desk.get(address(plan, "morning")).content.decode()
    desk.post(there["acknowledge"])
    assert there["outcome"] in desk.get(address(plan, "morning")).content.decode()
    half = desk.post(there["outcome"], {"outcome": "sent_to"})
    assert "Say where to" in half.content.decode()
    desk.post(there["outcome"], {"outcome": "sent_to", "note": "the night vets"})

    flag.refresh_from_db()
    assert (flag.outcome, flag.outcome_note, flag.state) == ("sent_to", "the night vets", "open")
    assert there["outcome"] not in desk.get(address(plan, "morning")).content.decode()
