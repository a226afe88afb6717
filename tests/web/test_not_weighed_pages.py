"""Every page of a patient whose rules or facts cannot be read still opens, for staff and for the owner."""

from __future__ import annotations

import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Plan, Reply
from tests import world
from tests.owner_world import EVENING, GOOD, NIGHT_PHONE, Home, answer, move_clock, pip_at_home
from tests.services.test_not_weighed import BREAKS, not_toml, tell
from tests.web.test_together import answer_all, begin, follow
from tests.world import at

pytestmark = pytest.mark.django_db


@pytest.fixture
def pip() -> Home:
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone() -> Client:
    return Client(enforce_csrf_checks=True)


def vet(pip: Home) -> Client:
    found = Client()
    found.force_login(pip.vet)
    return found


def text(page) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.content.decode())).split())


@pytest.mark.parametrize("breaks", BREAKS)
def test_the_owner_goes_through_all_questions_and_is_told_to_phone(pip, phone, breaks):
    breaks(pip.plan)

    assert "Tell us how Pip is" in text(phone.get(pip.home))
    asked = answer(phone, pip.home, pip.plan, GOOD)
    done = phone.get(f"{pip.home}done/{pip.plan.pk}/one/")

    assert {"breathing", "demeanour", "appetite", "faeces"} <= set(asked)
    assert done.status_code == 200
    assert done.context["end"].level == "urgent"
    assert f"tel:{NIGHT_PHONE}" in done.content.decode() or f"tel:{pip.practice.phone}" in done.content.decode()
    assert len(Reply.objects.get().raw["entries"]) == len(asked)
    assert text(phone.get(pip.home)).count("Pip") > 0


@pytest.mark.parametrize("breaks", BREAKS)
def test_a_red_answer_is_an_emergency_on_the_page_before_the_last_question(pip, phone, breaks):
    breaks(pip.plan)
    path = f"{pip.home}ask/{pip.plan.pk}/one/"

    sent = phone.post(path, {"question": "demeanour", "entry": "a", "answer": "collapsed"})

    assert sent["Location"].endswith(f"done/{pip.plan.pk}/one/")
    done = phone.get(sent["Location"])
    assert done.context["end"].level == "emergency"
    assert "Phone a vet now" in text(done)


@pytest.mark.parametrize("breaks", BREAKS)
def test_a_weight_and_words_are_kept_too(pip, phone, breaks):
    breaks(pip.plan)

    weighed = phone.post(f"{pip.home}weight/{pip.plan.pk}/", {"typed": "905", "entry": "w"})
    nonsense = phone.post(f"{pip.home}weight/{pip.plan.pk}/", {"typed": "heavy", "entry": "x"})
    noted = phone.post(f"{pip.home}note/", {"words": "he is odd", "plan": str(pip.plan.pk), "entry": "n"})

    assert (weighed.status_code, nonsense.status_code, noted.status_code) == (200, 422, 200)
    assert Reply.objects.count() == 2


@pytest.mark.parametrize("breaks", BREAKS)
def test_morning_list_patient_flag_and_phone_pages_open_and_say_so(pip, breaks):
    breaks(pip.plan)
    pip.plan.refresh_from_db()
    tell(pip, appetite="normal")
    flag = pip.plan.flags.get(concern="not_weighed")

    morning = text(vet(pip).get(reverse("followup:morning")))
    patient = text(vet(pip).get(reverse("followup:patient", args=[pip.plan.pk])))
    reviewing = vet(pip).get(reverse("followup:review_flag", args=[flag.pk]))
    by_phone = vet(pip).get(reverse("followup:phone_answers", args=[pip.plan.pk]))

    assert flag.because in morning
    assert "The rules could not be weighed since Monday 10 March 18:30: judge Pip yourself." in patient
    assert "● Urgent" in patient
    assert "Nothing in the answers worries us" not in patient
    assert "To do:" not in patient, "what was to do before is over"
    assert reviewing.status_code == by_phone.status_code == 200


def test_what_answers_would_mean_cannot_be_said_and_they_are_saved_all_the_same(pip):
    not_toml(pip.plan)
    page = reverse("followup:phone_answers", args=[pip.plan.pk])
    asked = vet(pip).post(page, {"action": "triage", "appetite": "normal"})
    saved = vet(pip).post(page, {"action": "save", "appetite": "normal", "client_id": "call"})

    assert asked.status_code == 200
    assert "The rules cannot be weighed now. Judge these answers yourself" in text(asked)
    assert "● Urgent if saved now." in text(asked)
    assert saved.status_code == 302
    assert pip.plan.observations.count() == 1


def test_a_review_closes_the_flag_while_the_rules_are_still_broken(pip):
    not_toml(pip.plan)
    tell(pip, appetite="normal")
    flag = pip.plan.flags.get(concern="not_weighed")
    looked = {"found": "eats", "done": "rang", "really": "on_track"}

    sent = vet(pip).post(reverse("followup:review_flag", args=[flag.pk]), looked)

    assert sent.status_code == 302
    assert [each.state for each in pip.plan.flags.filter(concern="not_weighed")] == ["reviewed"]


def test_the_page_for_an_emergency_vet_opens_without_the_rules(pip, phone):
    not_toml(pip.plan)

    sheet = phone.get(f"{pip.home}for-a-vet/{pip.plan.pk}/")

    assert sheet.status_code == 200
    assert "cannot be worked out now: ask the owner" in text(sheet)
    assert "900 g at discharge" in text(sheet)


@pytest.mark.parametrize("breaks", BREAKS)
def test_a_round_of_two_patients_ends_with_the_advice_for_each(pip, phone, breaks):
    other = world.running_plan("rabbit", where=pip.practice, of=pip.owner, discharged_at=at("16:30").isoformat())
    breaks(pip.plan)
    path = follow(phone, begin(phone, pip))
    for _patient in range(2):
        path = follow(phone, answer_all(phone, path, GOOD))
    assert path.endswith(f"/{pip.plan.pk}/done/")  # what is urgent is said before the end of the round
    assert phone.get(path).context["end"].level == "urgent"
    told = phone.get(path.removesuffix(f"{pip.plan.pk}/done/") + "done/").context["told"]

    levels = {each.turn.plan.patient.name: each.end.level for each in told}
    assert set(levels) == {"Pip", other.patient.name}
    assert levels["Pip"] == "urgent"
    assert pip.plan.observations.count() == other.observations.count() == 1


@pytest.mark.parametrize("breaks", BREAKS)
def test_the_pages_for_ending_it_open_and_name_the_open_flag(pip, breaks):
    breaks(pip.plan)
    tell(pip, appetite="normal")

    for name in ("sign_off", "died", "admit"):
        assert vet(pip).get(reverse(f"followup:{name}", args=[pip.plan.pk])).status_code == 200


def test_others_are_not_touched(pip):
    other = world.running_plan("rabbit", where=pip.practice)
    not_toml(pip.plan)
    tell(pip, appetite="normal")
    move_clock(at("18:31"))

    shown = text(vet(pip).get(reverse("followup:patient", args=[other.pk])))

    assert "could not be weighed" not in shown
    assert Plan.objects.get(pk=other.pk).level == Level.ON_TRACK
    assert world.staff(pip.practice, Role.VET) == pip.vet
