"""The page of one patient behind the link: what it shows, to whom, and what can be done from there."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.test import Client

from clinic.models import Carer, Owner, Role
from followup.models import Dose, Flag, Message, Observation, Plan, Recipient, Task
from followup.services.links import path_of, recipient_for
from followup.services.mark_seen import mark_seen
from followup.services.tick import tick
from tests import world
from tests.owner_world import EVENING, GOOD, Home, answer, move_clock, pip_at_home
from tests.pages import text_of
from tests.services.post import Post

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def pip():
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone():
    return Client(enforce_csrf_checks=True)


def page_of(pip, phone, home: str | None = None):
    return phone.get(f"{home or pip.home}patient/{pip.plan.pk}/")


def plain(response) -> str:
    """Its words, without what marks them up."""
    return " ".join(re.sub(r"<[^>]*>", " ", text_of(response)).split())


def next_dose(pip: Home) -> Dose:
    return pip.plan.doses.filter(state=Dose.State.PLANNED).earliest("at")


def test_the_next_dose_is_large_in_ml_with_a_syringe_filled_to_the_mark(pip, phone):
    dose = next_dose(pip)
    shown = page_of(pip, phone)

    assert f"<strong>{dose.amount}</strong> {dose.drug}" in shown.content.decode()
    assert f"filled to {dose.amount}" in shown.content.decode()
    assert f"The bottle must say {dose.strength}" in text_of(shown)
    assert "Never give a double dose" in text_of(shown)


def test_a_dose_is_told_with_one_tap_from_an_hour_before_its_time(pip, phone):
    dose = next_dose(pip)
    move_clock(dose.at - HOUR - dt.timedelta(minutes=1))
    assert "Given, all of it, just now" not in text_of(page_of(pip, phone))
    move_clock(dose.at - dt.timedelta(minutes=10))
    assert "Given, all of it, just now" in text_of(page_of(pip, phone))

    phone.post(f"{pip.home}dose/{pip.plan.pk}/{dose.pk}/", {"entry": "d", "outcome": "given"})

    assert next_dose(pip).pk != dose.pk


def test_a_dose_that_it_is_too_late_for_is_never_shown_as_the_next(pip, phone):
    dose = next_dose(pip)
    move_clock(dose.give_until)
    later = pip.plan.doses.filter(state=Dose.State.PLANNED, give_until__gt=dose.give_until).order_by("at").first()

    shown = page_of(pip, phone).content.decode()

    assert f"/dose/{pip.plan.pk}/{dose.pk}/" not in shown
    assert later is None or f"/dose/{pip.plan.pk}/{later.pk}/" in shown


def test_in_an_emergency_the_number_stands_first(pip, phone):
    Plan.objects.filter(pk=pip.plan.pk).update(level=3)

    shown = text_of(page_of(pip, phone))

    assert shown.index("Pip needs a vet now") < shown.index("tel:") < shown.index("Next medicine")
    assert shown.count("Who answers now") == 1


def test_whoever_was_alerted_is_said_with_the_time(pip, phone):
    pip.on_call()
    answer(phone, pip.home, pip.plan, {"demeanour": ["collapsed"]})
    assert "was alerted" not in text_of(page_of(pip, phone))

    tick(now=EVENING + dt.timedelta(minutes=1), choose=Post())

    assert "was alerted: Mon 10 Mar, 18:31. Do not wait for a call: phone." in text_of(page_of(pip, phone))


def test_a_dose_that_is_held_shows_no_amount(pip, phone):
    dose = next_dose(pip)
    pip.plan.doses.update(held=True)

    shown = text_of(page_of(pip, phone))

    assert "Phone us before this dose." in shown
    assert f"{dose.amount} {dose.drug}" not in shown.split("Day by day", maxsplit=1)[0]


def test_today_says_what_is_told_what_is_open_and_what_comes(pip, phone):
    move_clock(EVENING + dt.timedelta(minutes=5))
    shown = plain(page_of(pip, phone))
    assert "18:30 we wait for your answer" in shown
    assert "20:45 we ask you then" in shown

    answer(phone, pip.home, pip.plan, GOOD)

    assert "18:30 told, thank you" in plain(page_of(pip, phone))


def test_days_restrictions_and_what_was_told_are_there(pip, phone):
    answer(phone, pip.home, pip.plan, GOOD | {"text": ["He likes his hay."]})
    shown = plain(page_of(pip, phone))

    assert "Day 0 of 14" in shown
    assert "Day 14" in shown
    assert "kept apart from females that are not spayed" in shown.lower()
    assert "“He likes his hay.”" in shown
    assert "How is the behaviour of Pip? Bright and interested, as usual" in shown


def test_weights_are_a_list_and_from_the_second_on_a_picture(pip, phone):
    assert "No weight since the operation" in text_of(page_of(pip, phone)) or "in the clinic" in text_of(
        page_of(pip, phone)
    )
    for grams, hours in (("905", 1), ("912", 30)):
        move_clock(EVENING + hours * HOUR)
        phone.post(f"{pip.home}weight/{pip.plan.pk}/", {"entry": f"w{hours}", "typed": grams})

    shown = page_of(pip, phone)

    assert Observation.objects.count() == 2
    assert text_of(shown).index("912 g") < text_of(shown).index("905 g")
    assert 'class="owner-chart"' in shown.content.decode()


def test_an_answer_can_be_changed_until_the_clinic_has_looked(pip, phone):
    assert "Change what I told today" not in text_of(page_of(pip, phone))
    answer(phone, pip.home, pip.plan, GOOD)
    assert f"{pip.home}ask/{pip.plan.pk}/one/?q=demeanour" in page_of(pip, phone).content.decode()

    move_clock(EVENING + HOUR)
    mark_seen(pip.plan, staff=world.staff(pip.practice, Role.NURSE), now=EVENING + HOUR)

    shown = text_of(page_of(pip, phone))
    assert "Change what I told today" not in shown
    assert "looked at what you told us: Mon 10 Mar, 19:30" in shown


def test_yesterdays_answer_is_not_changed(pip, phone):
    answer(phone, pip.home, pip.plan, GOOD)
    move_clock(EVENING + 24 * HOUR)

    assert "Change what I told today" not in text_of(page_of(pip, phone))


def test_a_changed_answer_counts_and_is_weighed_anew(pip, phone):
    answer(phone, pip.home, pip.plan, GOOD)
    path = f"{pip.home}ask/{pip.plan.pk}/one/"

    phone.post(path, {"question": "demeanour", "entry": "again", "answer": "collapsed"})

    pip.plan.refresh_from_db()
    assert pip.plan.get_level_display() == "emergency"


def test_good_days_say_so_and_bad_ones_do_not(pip, phone):
    move_clock(EVENING + 24 * HOUR)
    Plan.objects.filter(pk=pip.plan.pk).update(level=0)
    assert "Nothing you told us about Pip worries us today" in text_of(page_of(pip, phone))
    Plan.objects.filter(pk=pip.plan.pk).update(level=1)
    assert "worries us today" not in text_of(page_of(pip, phone))


def test_looking_changes_nothing_and_asks_the_database_the_same_few_times(pip, phone, django_assert_max_num_queries):
    answer(phone, pip.home, pip.plan, GOOD)
    page_of(pip, phone)
    with django_assert_max_num_queries(40):
        page_of(pip, phone)


def test_another_owners_patient_is_not_here(pip, phone):
    stranger = pip_at_home("oak-lane")

    assert phone.get(f"{pip.home}patient/{stranger.plan.pk}/").status_code == 404
    assert phone.get(f"{pip.home}sheet/{stranger.plan.pk}/").status_code == 404


def test_the_sheet_is_a_file_without_a_name_in_its_own(pip, phone):
    response = phone.get(f"{pip.home}sheet/{pip.plan.pk}/")

    assert response.content.startswith(b"%PDF")
    assert response["Content-Disposition"] == 'attachment; filename="sheet.pdf"'


HELPER = {"name": "Rowan Field", "mobile": "07700 900123", "email": "", "knows": "on"}


def test_a_helper_gets_a_page_of_his_own_and_no_message_from_us(pip, phone):
    before = Message.objects.count()

    phone.post(f"{pip.home}helper/{pip.plan.pk}/", HELPER)

    rowan = Owner.objects.get(name="Rowan Field")
    assert Carer.objects.get(person=rowan).second
    link = path_of(recipient_for(pip.practice, rowan, now=EVENING))
    assert link in phone.get(f"{pip.home}helper/{pip.plan.pk}/").content.decode()
    assert "Tell us" in text_of(phone.get(link))
    assert Message.objects.count() == before
    assert phone.get(f"{link}helper/{pip.plan.pk}/").status_code == 404, "links of others are not his to see"
    assert "Add someone who helps" not in text_of(page_of(pip, phone, link))


def test_a_helper_who_is_taken_away_sees_nothing_any_more(pip, phone):
    phone.post(f"{pip.home}helper/{pip.plan.pk}/", HELPER)
    rowan = Owner.objects.get(name="Rowan Field")
    link = path_of(recipient_for(pip.practice, rowan, now=EVENING))

    phone.post(f"{pip.home}helper/{pip.plan.pk}/", {"away": str(rowan.pk)})

    assert phone.get(f"{link}patient/{pip.plan.pk}/").status_code == 404
    for nonsense in ("x", str(pip.owner.pk)):
        phone.post(f"{pip.home}helper/{pip.plan.pk}/", {"away": nonsense})
    assert page_of(pip, phone).status_code == 200


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": ""}, "Write the name."),
        ({"mobile": ""}, "Write a mobile or an e-mail address."),
        ({"mobile": "12"}, "12"),
        ({"email": "nobody"}, "This is not an e-mail address."),
        ({"knows": ""}, "Ask first, please"),
    ],
)
def test_a_helper_who_is_half_named_is_asked_again_with_what_was_typed(pip, phone, changes, said):
    response = phone.post(f"{pip.home}helper/{pip.plan.pk}/", HELPER | changes)

    assert response.status_code == 422
    assert said in text_of(response)
    if "name" not in changes:
        assert 'value="Rowan Field"' in response.content.decode()
    assert not Owner.objects.filter(name="Rowan Field").exists()


def test_the_same_helper_twice_is_one_and_the_fourth_is_one_too_many(pip, phone):
    for name in ("Rowan Field", "rowan field", "Hazel", "Ash"):
        phone.post(f"{pip.home}helper/{pip.plan.pk}/", HELPER | {"name": name})
    assert Carer.objects.count() == 3

    response = phone.post(f"{pip.home}helper/{pip.plan.pk}/", HELPER | {"name": "Elder"})

    assert "There are three already" in text_of(response)
    assert Carer.objects.count() == 3


def test_a_link_in_wrong_hands_is_closed_and_the_desk_is_told(pip, phone):
    assert "This page is meant for Ada Field" in text_of(phone.get(f"{pip.home}not-me/"))

    said = phone.post(f"{pip.home}not-me/")

    assert "You get nothing more from us" in text_of(said)
    assert phone.get(pip.home).status_code == 404
    recipient = Recipient.objects.get(pk=pip.recipient.pk)
    assert recipient.stopped_at is not None
    [task] = Task.objects.filter(kind=Task.Kind.MEND_ADDRESS)
    assert "Somebody else gets the messages to Ada Field" in task.text


def test_asking_whether_it_is_you_changes_nothing(pip, phone):
    phone.get(f"{pip.home}not-me/")

    assert phone.get(pip.home).status_code == 200
    assert not Flag.objects.exists()


@pytest.mark.parametrize("role", [Role.FRONT_DESK, Role.NURSE, Role.VET])
def test_the_desk_renews_a_link_with_one_click(pip, phone, role):
    desk = Client()
    desk.force_login(world.staff(pip.practice, role))

    desk.post(f"/recipients/{pip.recipient.pk}/messages/", {"step": "link"})

    assert phone.get(pip.home).status_code == 404
    renewed = path_of(Recipient.objects.get(pk=pip.recipient.pk))
    assert "Tell us" in text_of(phone.get(renewed))
    assert Message.objects.filter(key__startswith=f"link:{pip.recipient.pk}:", recipient=pip.recipient).count() == 1
