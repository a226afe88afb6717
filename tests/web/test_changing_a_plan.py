"""Changing a running plan by its page: looked at first, then made; what is typed is never lost."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.models import Plan
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.world import at, practice, running_plan, staff

pytestmark = pytest.mark.django_db

NOON = at("12:00", day=1)


@pytest.fixture
def plan() -> Plan:
    move_clock(NOON)
    return running_plan()


@pytest.fixture
def vet(plan) -> Client:
    return logged_in(plan)


def logged_in(plan: Plan, role: Role = Role.VET) -> Client:
    visitor = Client()
    visitor.force_login(staff(plan.practice, role))
    return visitor


def page(name: str, pk: int) -> str:
    return reverse(f"followup:{name}", args=[pk])


def typed(**changes: Any) -> dict[str, Any]:
    """The page as it comes, with a reason: meloxicam goes on as planned."""
    known = {
        "action": "preview",
        "version": "1",
        "why-because": "Weighed at the recheck.",
        "med0-what": "keep",
        "med0-doses": "1",
    }
    return known | {key.replace("__", "-"): value for key, value in changes.items()}


def changed(**changes: Any) -> dict[str, Any]:
    row = {
        "drug": "meloxicam", "mg_per_kg": "0.2", "every_hours": "24", "days": "2", "mg_per_ml": "0.5",
        "prescribed_by": "Vet of Elm Street Clinic", "off_label_explained": "on",
    }  # fmt: skip
    return {f"med0as-{key}": value for key, value in (row | changes).items()}


def test_the_page_shows_each_medicine_as_it_is(vet, plan):
    shown = vet.get(page("revise", plan.pk)).content.decode()
    assert "meloxicam, 1 dose to come" in shown
    assert 'name="med0as-mg_per_kg" value="0.1"' in shown


def test_looked_at_first_and_nothing_changes_before_it_is_confirmed(vet, plan):
    shown = text_of(vet.post(page("revise", plan.pk), typed(why__weight_g="800")))
    assert "0.16 ml from now on, no longer 0.18 ml" in shown
    plan.refresh_from_db()
    assert plan.version == 1

    answer = vet.post(page("revise", plan.pk), typed(why__weight_g="800", action="confirm"))
    assert answer.status_code == 302
    plan.refresh_from_db()
    assert plan.version == 2


def test_a_changed_medicine(vet, plan):
    form = typed(med0__what="change", action="confirm") | changed()
    assert vet.post(page("revise", plan.pk), form).status_code == 302
    assert [dose.amount for dose in plan.doses.filter(state="planned", at__gt=NOON)] == ["0.36 ml", "0.36 ml"]


def test_a_new_tablet_beside_it(vet, plan):
    new = {
        "drug": "gabapentin", "form": "tablet", "mg_per_kg": "50", "mg_per_tablet": "100", "every_hours": "12",
        "days": "1", "prescribed_by": "Vet of Elm Street Clinic",
    }  # fmt: skip
    form = typed(action="confirm") | {f"new0-{key}": value for key, value in new.items()}
    assert vet.post(page("revise", plan.pk), form).status_code == 302
    assert [dose.amount for dose in plan.doses.filter(drug="gabapentin")] == ["½ tablet", "½ tablet"]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"why__because": " "}, "Write why the plan changes."),
        ({"why__weight_g": "0.9"}, "If you mean 0.9 kg, write 900"),
        ({"why__weight_g": "1500"}, "The last weight was 900 g"),
        ({"med0__doses": "many"}, "Write a whole number."),
        ({"med0__what": "change"}, "Write which medicine it is."),
        ({"version": "3"}, "Somebody changed this plan meanwhile"),
    ],
)
def test_what_cannot_be_is_said_and_what_was_typed_is_kept(vet, plan, changes, said):
    form = typed(why__because="Thinner than we thought.") | {k.replace("__", "-"): v for k, v in changes.items()}
    if form["med0-what"] == "change":
        form |= changed(drug="")
    answer = vet.post(page("revise", plan.pk), form)
    assert answer.status_code == 422
    assert said in text_of(answer)
    if "why__because" not in changes:
        assert "Thinner than we thought." in text_of(answer)


def test_an_odd_weight_may_be_right(vet, plan):
    form = typed(why__weight_g="1500", why__right="1500", action="confirm")
    assert vet.post(page("revise", plan.pk), form).status_code == 302


def test_a_refused_medicine_is_shown_as_refused_and_cannot_be_confirmed(vet, plan):
    form = typed(med0__what="change") | changed(drug="amoxicillin", mg_per_kg="10", mg_per_ml="50")
    shown = text_of(vet.post(page("revise", plan.pk), form))
    assert "Refused:" in shown
    assert "Confirm: change the plan" not in shown
    answer = vet.post(page("revise", plan.pk), form | {"action": "confirm"})
    assert answer.status_code == 422


def test_change_something_brings_the_form_back_as_typed(vet, plan):
    form = typed(why__weight_g="800", action="change")
    assert 'value="800"' in vet.post(page("revise", plan.pk), form).content.decode()


def test_a_nurse_weighs_and_may_not_stop_a_medicine(plan):
    nurse = logged_in(plan, Role.NURSE)
    assert nurse.post(page("revise", plan.pk), typed(med0__what="stop", action="confirm")).status_code == 422
    assert nurse.post(page("revise", plan.pk), typed(why__weight_g="800", action="confirm")).status_code == 302


def test_the_versions_stand_side_by_side(vet, plan):
    vet.post(page("revise", plan.pk), typed(why__weight_g="800", action="confirm"))
    shown = text_of(vet.get(page("versions", plan.pk)))
    for words in ("Version 1", "Version 2, in force", "Weighed at the recheck.", "900 g", "800 g", "changed"):
        assert words in shown
    assert "Versions" in text_of(vet.get(page("patient", plan.pk)))


def test_the_versions_page_asks_the_same_number_of_queries_for_many(
    vet, plan, django_assert_num_queries, django_assert_max_num_queries
):
    for version in range(1, 6):
        form = typed(why__weight_g=str(880 - version * 10), action="confirm", version=str(version))
        assert vet.post(page("revise", plan.pk), form).status_code == 302
    with django_assert_max_num_queries(10):
        vet.get(page("versions", plan.pk))


def test_in_a_clinic_and_home_again(vet, plan):
    assert "Nothing is sent" in text_of(vet.post(page("admit", plan.pk), {"why": "Stasis, our ward."}, follow=True))
    assert vet.post(page("admit", plan.pk), {"why": "again"}).status_code == 422

    move_clock(at("15:00", day=3))
    home = {
        "action": "preview",
        "going-because": "Fluids and feeding.",
        "going-discharged_at": "2025-03-13T15:00",
        "going-weight_g": "870",
        "going-last_ate_before_discharge_at": "2025-03-13T14:00",
    } | {key.replace("med0as", "home0"): value for key, value in changed(mg_per_kg="0.1").items()}
    assert "0.17 ml" in text_of(vet.post(page("home_again", plan.pk), home))
    answer = vet.post(page("home_again", plan.pk), home | {"action": "confirm"}, follow=True)
    assert "The follow-up goes on" in text_of(answer)
    plan.refresh_from_db()
    assert (plan.paused, plan.version) == ("", 2)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"going-because": ""}, "Write what was done in the clinic."),
        ({"going-weight_g": ""}, "Write the weight"),
        ({"going-weight_g": "0.87"}, "If you mean 0.87 kg, write 870"),
        ({"going-discharged_at": "2025-03-01T15:00"}, "before it was admitted"),
        ({"going-last_ate_before_discharge_at": "2025-03-13T16:00"}, "after the patient goes home"),
        ({"home0-drug": "meloxicam"}, "Write mg per kg"),
    ],
)
def test_a_homecoming_that_cannot_be_is_said_at_its_field(vet, plan, changes, said):
    vet.post(page("admit", plan.pk), {"why": "Stasis."})
    move_clock(at("15:00", day=3))
    form = {"action": "confirm", "going-because": "Fluids.", "going-discharged_at": "2025-03-13T15:00"}
    answer = vet.post(page("home_again", plan.pk), form | {"going-weight_g": "870"} | changes)
    assert answer.status_code == 422
    assert said in text_of(answer)


def test_an_owners_hours(plan):
    desk = logged_in(plan, Role.FRONT_DESK)
    where = page("owner_hours", plan.patient.owner_id)
    assert 'value="Europe/London"' in desk.get(where).content.decode()
    form = {
        "clock-time_zone": "America/New_York", "clock-wakes": "07:00", "clock-sleeps": "22:00",
        "away0-days": ["mon", "tue"], "away0-starts": "09:00", "away0-ends": "12:00",
    }  # fmt: skip
    assert "Plans worked out anew: 1" in text_of(desk.post(where, form, follow=True))
    plan.patient.owner.refresh_from_db()
    assert plan.patient.owner.away == [{"days": ["mon", "tue"], "from": "09:00", "to": "12:00"}]
    assert 'value="09:00"' in desk.get(where).content.decode()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"clock-time_zone": "Somewhere"}, "is not a time zone"),
        ({"clock-sleeps": "07:00"}, "same as waking"),
        ({"away0-days": ["mon"]}, "Write from when to when."),
        ({"away0-starts": "09:00", "away0-ends": "10:00"}, "Choose the days."),
        (
            {
                "away0-days": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
                "away0-starts": "06:00",
                "away0-ends": "23:00",
            },
            "leave no time",
        ),
    ],
)
def test_hours_that_cannot_be_are_said_and_nothing_is_lost(vet, plan, changes, said):
    form = {"clock-time_zone": "Europe/London", "clock-wakes": "07:00", "clock-sleeps": "22:00"}
    answer = vet.post(page("owner_hours", plan.patient.owner_id), form | changes)
    assert answer.status_code == 422
    assert said in text_of(answer)
    plan.refresh_from_db()
    assert plan.version == 1


def test_another_practice_finds_none_of_these(plan):
    stranger = Client()
    stranger.force_login(staff(practice("other-street"), Role.VET))
    for name in ("revise", "versions", "admit", "home_again"):
        assert stranger.post(page(name, plan.pk), typed()).status_code in {404, 405}
