"""One patient's page, the answers given on the phone, and how a follow-up ends, as staff see them."""

from __future__ import annotations

import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Consent, Role
from followup.models import Event, Flag, Plan, Reply
from followup.services.wound_review import WoundLook, look_at_wound
from tests import world
from tests.owner_world import move_clock
from tests.services.test_review import bleeding
from tests.world import at

pytestmark = pytest.mark.django_db

EVENING = at("20:10")
BLEEDS = {"appetite": "normal", "wound.bleeding": "steady_drip"}


@pytest.fixture
def plan() -> Plan:
    move_clock(EVENING)
    return world.running_plan()


def visitor(plan: Plan, role: Role = Role.VET) -> Client:
    found = Client()
    found.force_login(world.staff(plan.practice, role))
    return found


def address(name: str, pk: int) -> str:
    return reverse(f"followup:{name}", kwargs={"pk": pk})


def text(page) -> str:
    """What can be read on a page, on one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.content.decode())).split())


def patient_page(plan: Plan) -> str:
    return text(visitor(plan).get(address("patient", plan.pk)))


def on_the_phone(plan: Plan, action: str, **more: str):
    return visitor(plan, Role.FRONT_DESK).post(address("phone_answers", plan.pk), {"action": action, **BLEEDS, **more})


def test_a_glance_tells_day_level_reason_and_what_comes_next(plan):
    flag = bleeding(plan)

    shown = patient_page(plan)

    assert "guinea pig, day 0 after castration on 10 March 2025" in shown
    assert "▲ Emergency" in shown
    assert flag.because in shown
    assert "next check-in" in shown
    assert plan.patient.owner.name in shown


def test_an_open_flag_is_explained_by_its_rules_with_certainty_and_source(plan):
    flag = bleeding(plan)

    shown = patient_page(plan)

    for rule in flag.rules:
        assert f"{rule['rule']} : {rule['level']}, {rule['certainty']}. {rule['source']}" in shown
    assert f"owner was told: {flag.owner_told}" in shown


def test_what_happened_is_all_there_newest_first(plan):
    bleeding(plan)

    shown = patient_page(plan)
    happened = shown[shown.index("What happened") :]

    in_order = [
        "e-mail to Robin Example",  # the advice
        "Front desk of Elm Street Clinic, on the phone: answered",
        "Does the wound bleed? Yes, it drips and does not stop",
        "▲ Emergency was on track (staff): the wound drips blood steadily",
        "looking after Pip",  # the first message
        "enrolled by Front desk of Elm Street Clinic",
    ]
    assert sorted(in_order, key=happened.index) == in_order


def test_medicines_weights_wound_reviews_and_consents_stand_on_the_page(plan):
    shown = patient_page(plan)

    dose = plan.doses.first()
    assert f"{dose.drug}" in shown
    assert "0.18 ml" in shown  # 900 g x 0.1 mg/kg = 0.09 mg; 0.09 mg / 0.5 mg per ml = 0.18 ml
    assert "900 g" in shown
    assert "Wound review of day 3: due Thursday 13 March" in shown
    said = Consent.objects.filter(owner=plan.patient.owner)
    assert {"photos", "to_be_contacted"} <= {each.kind for each in said}
    for each in said:
        assert f"{'Yes' if each.given else 'No'}: {each.get_kind_display()}" in shown


def test_what_the_owner_says_on_the_phone_is_triaged_while_he_speaks_and_not_kept(plan):
    page = on_the_phone(plan, "triage")

    assert "▲ Emergency if saved now. Nothing is saved yet." in text(page)
    assert "+44 1632 960200" in text(page)  # closed at 20:10: the night vets for guinea pigs
    assert not Reply.objects.exists()
    assert not Flag.objects.exists()
    assert re.search(r'name="wound.bleeding" value="steady_drip" checked', page.content.decode())


def test_saved_it_is_a_reply_of_staff_and_acts_at_once(plan):
    answer = on_the_phone(plan, "save", client_id="call-1")

    assert answer["Location"] == address("patient", plan.pk)
    reply = Reply.objects.get()
    assert (reply.plan, str(reply.staff)) == (plan, "Front desk of Elm Street Clinic")
    assert Flag.objects.get(concern="wound").get_worst_display() == "emergency"


def test_the_same_call_sent_twice_counts_once(plan):
    for _twice in range(2):
        on_the_phone(plan, "save", client_id="call-1")

    assert Reply.objects.count() == 1
    assert plan.observations.count() == 1


def test_every_question_is_on_one_screen_with_not_sure_and_nothing_chosen(plan):
    page = visitor(plan).get(address("phone_answers", plan.pk))
    questions = [*page.context["sheet"].core, *page.context["sheet"].more]

    assert {"appetite", "faeces", "demeanour", "breathing", "wound.bleeding"} <= {each.key for each in questions}
    assert not any(choice.chosen for each in questions for choice in each.choices)
    appetite = next(each for each in questions if each.key == "appetite")
    assert appetite.choices[-1].words == "I am not sure"
    assert "discharge" not in text(page).lower()


def test_a_slip_in_the_weight_is_asked_at_its_field_and_nothing_typed_is_lost(plan):
    page = on_the_phone(plan, "save", **{"weight_g.typed": "0.9", "text.typed": "ate two leaves"})

    assert page.status_code == 422
    assert "Nothing was saved" in text(page)
    assert 'name="weight_g.typed" value="0.9"' in page.content.decode()
    assert ">ate two leaves</textarea>" in page.content.decode()
    assert not Reply.objects.exists()


def test_an_empty_call_is_not_an_answer(plan):
    page = visitor(plan).post(address("phone_answers", plan.pk), {"action": "save"})

    assert "Nothing has been answered yet" in text(page)
    assert not Reply.objects.exists()


def test_a_flag_reviewed_twice_together_tells_the_second_who_was_first(plan):
    flag = bleeding(plan)
    looked = {"found": "a scab licked off", "done": "pressed on it", "really": "monitor"}
    first = visitor(plan).post(address("review_flag", flag.pk), looked)
    assert first["Location"] == address("patient", plan.pk)

    other = Client()
    other.force_login(world.staff(plan.practice, Role.VET, "Vet Fern"))
    second = other.post(address("review_flag", flag.pk), looked)

    assert second.status_code == 422
    assert "Vet of Elm Street Clinic reviewed this flag at 20:10: a scab licked off" in text(second)


def test_a_review_without_what_was_found_says_so_and_keeps_the_rest(plan):
    flag = bleeding(plan)

    page = visitor(plan).post(
        address("review_flag", flag.pk), {"found": " ", "done": "pressed on it", "really": "monitor"}
    )

    assert page.status_code == 422
    assert "Write what you found." in text(page)
    assert ">pressed on it</textarea>" in page.content.decode()


def test_a_review_is_asked_how_serious_it_really_was_with_nothing_chosen_and_the_fault_at_that_field(plan):
    flag = bleeding(plan)
    opened = visitor(plan).get(address("review_flag", flag.pk)).content.decode()
    assert opened.count('name="really"') == 4
    assert "checked" not in opened[opened.index('name="really"') : opened.index('id="found"')]

    page = visitor(plan).post(address("review_flag", flag.pk), {"found": "a scab", "done": "pressed", "really": "?"})

    assert page.status_code == 422
    shown = page.content.decode()
    fault = shown.index("Choose how serious it really was.")
    assert shown.index("How serious was it really?") < fault < shown.index('name="really"')
    assert shown.count("Choose how serious it really was.") == 1
    assert ">a scab</textarea>" in shown
    assert Flag.objects.get(pk=flag.pk).state == "open"


def test_a_reviewed_flag_says_what_it_really_was(plan):
    flag = bleeding(plan)
    looked = {"found": "a scab", "done": "pressed on it", "really": "on_track"}
    visitor(plan).post(address("review_flag", flag.pk), looked)

    assert "Really: nothing to do." in text(visitor(plan).get(address("review_flag", flag.pk)))
    assert "Really: nothing to do." in patient_page(plan)


def test_the_page_says_every_reason_why_it_may_not_be_signed_off_yet(plan):
    bleeding(plan)

    shown = text(visitor(plan).get(address("sign_off", plan.pk)))

    assert "A flag is open: wound, emergency. Review it first." in shown
    assert "The wound review of day 3 has not been done." in shown
    assert "It closes on Monday 24 March, not before." in shown
    assert "How did it end?" not in shown


def quiet_fortnight(plan: Plan) -> None:
    for due in plan.wound_reviews.all():
        look_at_wound(due, WoundLook("dry", "-"), staff=world.staff(plan.practice), now=at("09:00", day=due.day))
    move_clock(at("07:40", day=14))


def test_a_quiet_recovery_is_signed_off_on_the_morning_of_day_14_and_can_go_on(plan):
    quiet_fortnight(plan)
    vet = visitor(plan)
    assert "Nothing stands open" in text(vet.get(address("sign_off", plan.pk)))

    vet.post(address("sign_off", plan.pk), {"outcome": "none"})
    plan.refresh_from_db()
    assert (plan.state, plan.outcome) == (Plan.State.CLOSED, "none")
    assert "Ended: none, Vet of Elm Street Clinic" in patient_page(plan)

    vet.post(address("go_on", plan.pk))
    plan.refresh_from_db()
    assert plan.state == Plan.State.RUNNING


@pytest.mark.parametrize("outcome", ["", "died", "excellent"])
def test_an_outcome_is_one_of_those_shown(plan, outcome):
    quiet_fortnight(plan)

    page = visitor(plan).post(address("sign_off", plan.pk), {"outcome": outcome})

    assert page.status_code == 422
    assert "Choose how it ended." in text(page)
    plan.refresh_from_db()
    assert plan.state == Plan.State.RUNNING


def test_looking_at_a_page_changes_nothing(plan):
    flag = bleeding(plan)
    before = (
        Event.objects.count(),
        Plan.objects.values_list().get(),
        Flag.objects.filter(pk=flag.pk).values_list().get(),
    )

    for name, pk in [("patient", plan.pk), ("phone_answers", plan.pk), ("died", plan.pk), ("review_flag", flag.pk)]:
        assert visitor(plan).get(address(name, pk)).status_code == 200

    after = (
        Event.objects.count(),
        Plan.objects.values_list().get(),
        Flag.objects.filter(pk=flag.pk).values_list().get(),
    )
    assert after == before
