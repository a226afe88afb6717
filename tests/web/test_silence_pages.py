"""Pages about silence: why nothing was heard, on the owner's page and on the phone; calls that failed; who is lost."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.models import CheckIn, Flag, Plan, Task
from followup.services.lost import CALL_FAILED
from tests import world
from tests.owner_world import GOOD, answer, move_clock, pip_at_home
from tests.pages import text_of
from tests.world import at

pytestmark = pytest.mark.django_db
NOON = at("12:00", day=1)
WHY = "What kept you from telling us about Pip before?"


@pytest.fixture
def pip():
    """Asked on the first evening and on waking, and silent until noon of day 1."""
    found = pip_at_home()
    found.plan.check_ins.filter(at__lte=NOON).update(state=CheckIn.State.ASKED)
    move_clock(NOON)
    return found


def staff(plan: Plan, role: Role = Role.FRONT_DESK) -> Client:
    visitor = Client()
    visitor.force_login(world.staff(plan.practice, role))
    return visitor


def page(name: str, pk: int) -> str:
    return reverse(f"followup:{name}", args=[pk])


def test_an_owner_who_was_silent_is_asked_why_at_the_end_in_kind_words_and_may_leave_it(client, pip):
    asked = answer(client, pip.home, pip.plan, GOOD)

    assert asked[-2:] == ["text", "why_silent"]
    assert asked.count("why_silent") == 1
    shown = text_of(client.get(f"{pip.home}ask/{pip.plan.pk}/one/?q=why_silent"))
    assert f"Good to hear from you. {WHY}" in shown
    assert "You need not answer this." in shown
    assert "Pip was not well" in shown
    assert "In your own words, if you like" in shown
    assert "Skip this question" in shown
    assert not pip.plan.events.filter(what="silence_reason").exists()


def test_own_words_beside_the_reason_or_instead_of_it(client, pip):
    answer(client, pip.home, pip.plan, GOOD)
    path = f"{pip.home}ask/{pip.plan.pk}/one/"

    client.post(path, {"question": "why_silent", "entry": "w", "typed": "I was at work"})

    assert pip.plan.events.get(what="silence_reason").text == "something else: “I was at work”"
    again = client.get(f"{path}?q=why_silent").content.decode()
    assert 'value="I was at work"' in again
    assert 'value="other" checked' in again


def test_one_who_was_not_silent_is_not_asked(client):
    found = pip_at_home()
    move_clock(at("18:30"))

    assert "why_silent" not in answer(client, found.home, found.plan, GOOD)


def test_not_well_asks_to_keep_watching_and_a_person_to_look(client, pip):
    answer(client, pip.home, pip.plan, GOOD | {"why_silent": ["unwell"]})

    assert "Keep watching" in text_of(client.get(f"{pip.home}done/{pip.plan.pk}/one/"))
    assert "while we heard nothing, the animal was not well" in text_of(
        staff(pip.plan, Role.VET).get(page("patient", pip.plan.pk))
    )


def test_what_is_left_of_a_check_in_is_not_the_reason_alone(client, pip):
    """An owner who stops at the last question has told all that counts: nothing asks him to go on."""
    while (key := client.get(f"{pip.home}ask/{pip.plan.pk}/one/").context["question"].key) != "why_silent":
        given = {"answer": GOOD[key]} if key in GOOD else {"skip": "1"}
        client.post(f"{pip.home}ask/{pip.plan.pk}/one/", {"question": key, "entry": key, **given})

    assert "Go on where you stopped" not in text_of(client.get(pip.home))
    assert pip.plan.observations.count() == 1


def test_not_sure_about_eating_is_told_how_to_become_sure(client):
    found = pip_at_home()
    move_clock(at("18:30"))
    answer(client, found.home, found.plan, GOOD | {"appetite": ["not_sure"]})

    assert "Put Pip alone for an hour" in text_of(client.get(f"{found.home}done/{found.plan.pk}/one/"))


def test_the_phone_page_asks_why_only_after_a_silence(pip):
    desk = staff(pip.plan)
    assert WHY in text_of(desk.get(page("phone_answers", pip.plan.pk)))
    given = {"appetite": "normal", "why_silent": "unwell", "why_silent.typed": "slept all day"}

    meant = text_of(desk.post(page("phone_answers", pip.plan.pk), {"action": "triage", **given}))
    assert "slept all day" in meant
    desk.post(page("phone_answers", pip.plan.pk), {"action": "save", "client_id": "c", **given})

    assert pip.plan.events.get(what="silence_reason").text == "the animal was not well: “slept all day”"
    assert Flag.objects.get(concern="worry").level == 1
    assert WHY not in text_of(desk.get(page("phone_answers", pip.plan.pk)))


def test_the_phone_page_leaves_out_what_does_not_suit_him(pip):
    shown = text_of(staff(pip.plan).get(page("phone_answers", pip.plan.pk)))

    assert "at the opening in front" not in shown
    assert "colour are the gums" not in shown
    assert "the pouch and the groin" in shown


def test_a_call_that_nobody_answered_is_written_down_once(pip):
    desk = staff(pip.plan)
    for _ in range(2):
        desk.post(page("phone_answers", pip.plan.pk), {"action": "no_answer", "client_id": "c"})

    assert pip.plan.events.filter(what=CALL_FAILED).count() == 1
    assert not pip.plan.replies.exists()
    assert "nobody answered the phone" in text_of(desk.get(page("patient", pip.plan.pk)))


def test_the_task_of_a_call_offers_that_nobody_answered_and_reading_does_not(pip):
    about = {"practice": pip.practice, "plan": pip.plan, "text": "Ring", "due_at": NOON, "made_at": NOON}
    ring = Task.objects.create(kind=Task.Kind.PHONE, key="a", **about)
    read = Task.objects.create(kind=Task.Kind.READ_WORDS, key="b", **about)
    desk = staff(pip.plan)

    assert "Nobody answered the phone" in text_of(desk.get(page("task_done", ring.pk)))
    assert "Nobody answered the phone" not in text_of(desk.get(page("task_done", read.pk)))
    desk.post(page("task_done", ring.pk), {"no_answer": "yes", "result": ""})
    desk.post(page("task_done", read.pk), {"no_answer": "yes", "result": ""})

    assert pip.plan.events.filter(what=CALL_FAILED).count() == 1
    ring.refresh_from_db()
    assert ring.done_at is not None


def test_lost_is_proposed_on_the_patients_page_and_at_sign_off(pip):
    desk, vet = staff(pip.plan), staff(pip.plan, Role.VET)
    for call in ("a", "b"):
        desk.post(page("phone_answers", pip.plan.pk), {"action": "no_answer", "client_id": call})
    assert "Lost to follow-up?" not in text_of(vet.get(page("patient", pip.plan.pk)))
    pip.plan.flags.update(state=Flag.State.ENDED)
    pip.plan.wound_reviews.update(done_at=NOON)
    move_clock(at("12:00", day=14))

    assert "Lost to follow-up? Nothing has been heard for 13 days" in text_of(vet.get(page("patient", pip.plan.pk)))
    shown = vet.get(page("sign_off", pip.plan.pk)).content.decode()
    assert 'value="lost" checked' in shown
    assert "(proposed)" in shown
    refused = vet.post(page("sign_off", pip.plan.pk), {"outcome": "none"})
    assert refused.status_code == 422
    assert "lost to follow-up, not well" in text_of(refused)
    vet.post(page("sign_off", pip.plan.pk), {"outcome": "lost"})
    assert Plan.objects.get().outcome == "lost"
