"""One dose on the owner's page and on the staff's: what to do now, what became of it, and what went wrong."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Dose, Reply
from tests.owner_world import move_clock, pip_at_home
from tests.pages import text_of
from tests.world import at, staff

pytestmark = pytest.mark.django_db

DUE = at("10:00", day=1)


@pytest.fixture
def pip():
    move_clock(at("10:05", day=1))
    return pip_at_home()


@pytest.fixture
def phone() -> Client:
    return Client()


def dose(pip, number: int = 1) -> Dose:
    found: Dose = pip.plan.doses.get(number=number)
    return found


def where(pip, number: int = 1) -> str:
    return f"{pip.home}dose/{pip.plan.pk}/{dose(pip, number).pk}/"


def tell(pip, phone, outcome: str, number: int = 1, **more: Any):
    entry = f"{outcome}{number}{Reply.objects.count()}"
    return phone.post(where(pip, number), {"entry": entry, "outcome": outcome, **more})


def test_the_page_says_what_to_do_now(pip, phone):
    shown = text_of(phone.get(where(pip)))
    assert "Give it now: 0.18 ml meloxicam." in shown
    assert "Never a double dose." in shown
    assert "Given, but vomited up" not in shown  # a guinea pig cannot


def test_forgotten_is_answered_with_give_it_now_and_nothing_is_missed_yet(pip, phone):
    move_clock(at("15:00", day=1))
    shown = text_of(tell(pip, phone, "missed"))
    assert "Give it now: 0.18 ml meloxicam" in shown
    assert "The next dose is tomorrow at 15:00." in shown
    assert dose(pip).state == Dose.State.PLANNED

    assert "The next dose is tomorrow at 15:0" in text_of(tell(pip, phone, "given"))
    assert (dose(pip).outcome, f"{dose(pip, 2).at:%d %H}") == ("given", "12 15")


def test_i_cannot_give_it_is_missed(pip, phone):
    shown = text_of(tell(pip, phone, "missed", final="yes"))
    assert "You can try again until today at 22:00" in shown
    assert dose(pip).outcome == "missed"


def test_too_late_is_skipped(pip, phone):
    move_clock(at("22:30", day=1))
    assert "Skip this dose" in text_of(tell(pip, phone, "missed"))
    assert dose(pip).outcome == "missed"


def test_given_at_another_time(pip, phone):
    move_clock(at("18:00", day=1))
    tell(pip, phone, "given", given_at="10:10")
    assert (dose(pip).given_at, dose(pip, 2).at) == (at("10:10", day=1), at("10:00", day=2))


def test_a_time_that_is_none_is_asked_again_and_nothing_is_lost(pip, phone):
    answer = tell(pip, phone, "given", given_at="soon", words="He liked it.")
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert "Type the time like 14:30" in shown
    assert "He liked it." in shown
    assert 'value="given" checked' in shown


@pytest.mark.parametrize(
    ("outcome", "more", "heading"),
    [
        ("too_much", {"ml": "0,3"}, "Phone"),
        ("wrong_bottle", {"mg_per_ml": "1.5"}, "Phone a vet now"),
        ("into_the_lungs", {}, "Phone a vet now"),
        ("other_medicine", {"what": "Paracetamol"}, "Phone a vet now"),
    ],
)
def test_what_went_wrong_is_answered_with_the_number_and_what_to_read_out(pip, phone, outcome, more, heading):
    shown = text_of(tell(pip, phone, outcome, **more))
    assert f"<h1>{heading}" in shown
    assert "Have the bottle in your hand when you phone" in shown
    assert "tel:" in shown
    assert "meloxicam 0.5 mg/ml, 0.18 ml" in shown
    pip.plan.refresh_from_db()
    assert pip.plan.level >= Level.URGENT


def test_a_number_that_is_none_in_a_mishap_is_asked_again(pip, phone):
    answer = tell(pip, phone, "too_much", ml="a lot")
    assert (answer.status_code, "Write a number, without its unit" in text_of(answer)) == (422, True)


def test_a_dose_told_of_can_be_put_right_or_gone_wrong(pip, phone):
    assert "That was a slip: change it" in text_of(tell(pip, phone, "given"))
    shown = text_of(phone.get(where(pip)))
    assert "Told already: given." in shown
    tell(pip, phone, "spat_out")
    assert dose(pip).outcome == "spat_out"


def test_the_next_dose_is_held_after_a_mishap_and_says_so(pip, phone):
    tell(pip, phone, "too_much", ml="0.2")
    move_clock(at("10:00", day=2))
    assert "Phone us before" in text_of(phone.get(where(pip, 2)))
    assert "Phone us before this dose." in text_of(phone.get(pip.home))


def test_a_page_that_is_older_than_the_plan_loses_nothing(pip, phone):
    old = where(pip, 2)
    pip.plan.doses.filter(number=2).update(state=Dose.State.CANCELLED)
    assert phone.get(old).status_code == 404
    answer = phone.post(old, {"entry": "late", "outcome": "given", "words": "Just gave it."})
    assert answer.status_code == 200
    assert Reply.objects.get(client_id="late").text == "Just gave it."
    assert pip.plan.tasks.filter(key__startswith="dose:").exists()


def logged_in(pip, role: Role) -> Client:
    visitor = Client()
    visitor.force_login(staff(pip.practice, role))
    return visitor


def test_the_desk_tells_for_the_owner(pip):
    desk = logged_in(pip, Role.FRONT_DESK)
    page = reverse("followup:record_dose", args=[dose(pip).pk])
    assert "Give it now" in text_of(desk.get(page))
    shown = text_of(desk.post(page, {"outcome": "given", "given_at": "10:00", "final": "yes"}))
    assert "The next dose is tomorrow at 10:00." in shown
    assert dose(pip).outcome == "given"
    assert desk.post(page, {"words": "He said"}).status_code == 422


def test_a_vet_releases_what_is_held(pip, phone):
    tell(pip, phone, "too_much", ml="0.2")
    page = reverse("followup:release", args=[dose(pip, 2).pk])
    assert logged_in(pip, Role.NURSE).get(page).status_code == 403
    vet = logged_in(pip, Role.VET)
    patient = text_of(vet.get(reverse("followup:patient", args=[pip.plan.pk])))
    assert "held: a vet decides" in patient
    assert page in patient
    assert "something went wrong with meloxicam" in text_of(vet.get(page))
    assert vet.post(page, {"decided": " "}).status_code == 422
    assert vet.post(page, {"decided": "Go on."}).status_code == 302
    assert not dose(pip, 2).held
    assert vet.post(page, {"decided": "Again."}).status_code == 422


def test_adherence_is_shown(pip, phone):
    tell(pip, phone, "given")
    tell(pip, phone, "refused", number=2)
    shown = text_of(logged_in(pip, Role.VET).get(reverse("followup:patient", args=[pip.plan.pk])))
    assert "meloxicam: 1 of 2 given, 1 refused" in shown
