"""What goes wrong on an owner's page: a clear sentence in the right place, and nothing typed is lost."""

from __future__ import annotations

import io

import pytest
from django.test import Client

from followup.models import Observation, Photo, Reply, Task
from tests.owner_world import EVENING, GOOD, answer, move_clock, pip_at_home
from tests.pages import text_of
from tests.world import at

pytestmark = pytest.mark.django_db


@pytest.fixture
def pip(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone():
    return Client(enforce_csrf_checks=True)


def test_a_wrong_link_of_a_known_practice_still_shows_how_to_reach_it(pip, phone):
    response = phone.get("/o/elm-street/not-a-code/")

    assert response.status_code == 404
    assert f"tel:{pip.practice.phone}" in text_of(response)
    assert response["Cache-Control"] == "no-store"


def test_a_wrong_link_of_no_practice_says_what_to_do(phone, db):
    response = phone.get("/o/nowhere/not-a-code/")

    assert response.status_code == 404
    assert "nearest emergency vet" in text_of(response)


def test_a_page_asked_for_in_a_way_that_it_does_not_know_still_shows_the_number(pip, phone):
    response = phone.post(pip.home, {"entry": "1"})

    assert (response.status_code, response["Allow"]) == (405, "GET, HEAD")
    assert "tel:" in text_of(response)
    assert phone.head(pip.home).status_code == 200


def test_a_right_code_at_another_practice_opens_nothing(pip, phone):
    pip_at_home("oak-lane")

    assert phone.get(pip.home.replace("elm-street", "oak-lane")).status_code == 404


def test_the_same_answer_posted_twice_counts_once(pip, phone):
    path = f"{pip.home}ask/{pip.plan.pk}/one/"
    twice = {"question": "breathing", "entry": "same", "answer": "normal"}

    assert phone.post(path, twice).status_code == 302
    assert phone.post(path, twice).status_code == 302

    assert len(Reply.objects.get().raw["entries"]) == 1


@pytest.mark.parametrize(
    "half",
    [
        {"question": "breathing", "entry": "1"},
        {"question": "breathing", "answer": "purple", "entry": "1"},
        {"question": "breathing", "answer": ["normal", "fast"], "entry": "1"},
    ],
)
def test_half_an_answer_is_asked_again_in_place(pip, phone, half):
    response = phone.post(f"{pip.home}ask/{pip.plan.pk}/one/", half)

    assert response.status_code == 422
    assert "Choose an answer, then continue." in text_of(response)
    assert not Reply.objects.exists()


def test_a_question_nobody_asks_is_not_here(pip, phone):
    assert phone.get(f"{pip.home}ask/{pip.plan.pk}/one/?q=hunger").status_code == 404
    assert phone.post(f"{pip.home}ask/{pip.plan.pk}/one/", {"question": "hunger", "answer": "x"}).status_code == 404


def test_half_a_check_in_is_kept_as_it_was_given(pip, phone):
    phone.post(f"{pip.home}ask/{pip.plan.pk}/one/", {"question": "appetite", "entry": "1", "answer": "less"})

    assert Reply.objects.get().raw["entries"][0]["values"] == ["less"]


def test_a_time_that_is_none_is_asked_again(pip, phone):
    response = phone.post(
        f"{pip.home}ask/{pip.plan.pk}/one/", {"question": "last_ate_at", "entry": "1", "typed": "25:99"}
    )

    assert response.status_code == 422
    assert "type the time like 14:30" in text_of(response)


def test_a_time_still_to_come_is_asked_about_and_taken_as_yesterdays_when_it_is_sent_again(pip, phone):
    move_clock(at("18:30", day=1))
    path = f"{pip.home}ask/{pip.plan.pk}/one/"
    late = {"question": "last_ate_at", "entry": "1", "typed": "20:00"}

    first = phone.post(path, late)
    assert first.status_code == 422
    assert "so 20:00 was yesterday. Is that right?" in text_of(first)
    assert 'value="20:00"' in first.content.decode()
    assert not Reply.objects.exists()

    assert phone.post(path, late | {"again": "20:00"}).status_code == 302
    assert Reply.objects.get().raw["entries"][0]["values"] == ["20:00"]


def test_a_time_before_the_operation_is_not_taken_however_often(pip, phone):
    path = f"{pip.home}ask/{pip.plan.pk}/one/"
    early = {"question": "last_ate_at", "entry": "1", "typed": "07:00", "again": "07:00"}

    response = phone.post(path, early)

    assert (response.status_code, "07:00 was before the operation" in text_of(response)) == (422, True)


def test_five_tabs_at_once_are_five_replies_and_every_word_is_kept(pip, phone):
    for tab in range(5):
        path = f"{pip.home}ask/{pip.plan.pk}/tab{tab}/"
        phone.post(path, {"question": "appetite", "entry": f"a{tab}", "answer": "normal"})
        phone.post(path, {"question": "text", "entry": f"t{tab}", "typed": f"Tab {tab} 🐹"})

    assert sorted(Reply.objects.values_list("text", flat=True)) == [f"Tab {tab} 🐹" for tab in range(5)]


def test_five_thousand_characters_are_kept_to_the_last(pip, phone):
    words = "Ünruhig 🐹 " * 455 + "Ende"

    phone.post(f"{pip.home}ask/{pip.plan.pk}/one/", {"question": "text", "entry": "1", "typed": words})
    phone.post(f"{pip.home}note/", {"entry": "2", "words": words})

    assert set(Reply.objects.values_list("text", flat=True)) == {words}


def test_kilograms_typed_for_grams_are_asked_about_and_never_converted(pip, phone):
    path = f"{pip.home}weight/{pip.plan.pk}/"

    for _ in range(2):  # sent again, it is still not taken
        response = phone.post(path, {"entry": "w", "typed": "0.9", "again": "0.9"})
        assert response.status_code == 422
        assert "Did you mean 900 g?" in text_of(response)
        assert 'value="0.9"' in response.content.decode()
    assert not Observation.objects.exists()


def test_a_weight_far_off_the_last_is_taken_when_it_is_sent_again(pip, phone):
    path = f"{pip.home}weight/{pip.plan.pk}/"

    first = phone.post(path, {"entry": "w", "typed": "590"})  # 900 / 590 = 1.53 times
    assert (first.status_code, "very different from the last weight, 900 g" in text_of(first)) == (422, True)
    assert phone.post(path, {"entry": "w", "typed": "590", "again": "590"}).status_code == 200

    assert Observation.objects.get().facts["weight_g"] == 590.0


def upload(phone, pip, data: bytes, name="wound.jpg"):
    file = io.BytesIO(data)
    file.name = name
    return phone.post(f"{pip.home}photo/{pip.plan.pk}/one/", {"entry": "p", "photo": file})


def test_forty_megabytes_get_a_sentence_and_the_words_stay(pip, phone):
    answer(phone, pip.home, pip.plan, GOOD | {"wound": ["worse"], "text": ["It looks odd."]})

    response = upload(phone, pip, b"\xff\xd8" + b"0" * (40 * 1024 * 1024))

    assert response.status_code == 422
    assert "This photo has 40 MB; we can take up to 25 MB. Your words are safe." in text_of(response)
    assert Reply.objects.get().text == "It looks odd."
    assert not Photo.objects.exists()


def test_a_file_that_is_not_a_picture_is_kept_and_somebody_will_ring(pip, phone):
    response = upload(phone, pip, b"MZ this is a program", "wound.jpg.exe")

    assert response.status_code == 200
    assert "We could not open this file as a picture" in text_of(response)
    assert Photo.objects.get().state == Photo.State.UNREADABLE
    assert "could not be shown" in Task.objects.get(kind=Task.Kind.PHONE).text


def test_no_photo_chosen_is_said(pip, phone):
    response = phone.post(f"{pip.home}photo/{pip.plan.pk}/one/", {"entry": "p"})

    assert (response.status_code, "Choose a photo first" in text_of(response)) == (422, True)


def test_an_empty_note_and_an_empty_dose_are_asked_again_with_what_was_typed(pip, phone):
    assert "Write something" in text_of(phone.post(f"{pip.home}note/", {"words": "  "}))
    dose = pip.plan.doses.first()

    response = phone.post(f"{pip.home}dose/{pip.plan.pk}/{dose.pk}/", {"words": "he ran off"})

    assert "Say what became of the dose" in text_of(response)
    assert "he ran off" in text_of(response)


def test_a_dose_of_another_plan_is_not_here(pip, phone):
    strange = pip_at_home("oak-lane").plan.doses.earliest("at")

    assert phone.get(f"{pip.home}dose/{pip.plan.pk}/{strange.pk}/").status_code == 404


def test_an_answer_page_of_another_owner_cannot_be_written_into(pip, phone):
    answer(phone, pip.home, pip.plan, GOOD, "mine")
    stranger = pip_at_home("oak-lane")

    phone.post(f"{stranger.home}ask/{pip.plan.pk}/mine/", {"question": "appetite", "entry": "x", "answer": "none"})

    assert all(entry["id"] != "x" for reply in Reply.objects.all() for entry in reply.raw["entries"])
