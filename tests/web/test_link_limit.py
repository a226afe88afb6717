"""A link that sends more than anybody would: nothing more is weighed, and no word is lost."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from followup.models import Reply, Task
from followup.services import link_limit
from tests.owner_world import EVENING, move_clock, pip_at_home
from tests.pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def pip(monkeypatch):
    monkeypatch.setattr(link_limit, "MOST", 3)
    monkeypatch.setattr(link_limit, "MOST_ENTRIES", 5)
    move_clock(EVENING)
    return pip_at_home()


def note(pip, number: int, words: str = "He sits."):
    return Client().post(f"{pip.home}note/", {"entry": f"n{number}", "words": f"{words} {number}"})


def test_beyond_the_limit_words_are_kept_and_one_person_reads(pip):
    answers = [note(pip, number) for number in range(7)]

    assert [each.status_code for each in answers] == [200] * 4 + [429] * 3
    assert "If you are worried, phone" in text_of(answers[-1])
    assert "tel:" in text_of(answers[-1])
    assert Reply.objects.count() == 7
    assert Task.objects.filter(key__startswith="flood:").count() == 1


def test_the_same_words_sent_again_count_once(pip):
    for number in range(4):
        note(pip, number)
    for _ in range(3):
        note(pip, 99)

    assert Reply.objects.filter(text="He sits. 99").count() == 1


def test_an_hour_later_it_is_as_before(pip):
    for number in range(5):
        note(pip, number)
    move_clock(EVENING + dt.timedelta(hours=1, minutes=1))

    assert note(pip, 50).status_code == 200


def test_one_check_in_with_no_end_of_answers_is_stopped_too(pip):
    path = f"{pip.home}ask/{pip.plan.pk}/one/"
    given = [Client().post(path, {"question": "appetite", "entry": f"e{number}", "answer": "normal"}).status_code
             for number in range(8)]  # fmt: skip

    assert given == [302] * 6 + [429] * 2


def test_one_link_stops_no_other_and_a_death_is_always_taken(pip):
    for number in range(6):
        note(pip, number)
    other = pip_at_home("oak-lane")

    assert note(other, 1).status_code == 200
    assert Client().post(f"{pip.home}died/{pip.plan.pk}/").status_code == 200
    pip.patient.refresh_from_db()
    assert pip.patient.died_at is not None
