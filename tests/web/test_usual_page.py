"""Is this usual? Owners read what a vet of the practice has approved, for as long as it is so."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from clinic.models import Role
from followup.domain.usual import BY_KEY
from followup.models import Event, UsualWords
from followup.services.usual_words import approve
from tests import world
from tests.owner_world import EVENING, move_clock, pip_at_home
from tests.pages import text_of

pytestmark = pytest.mark.django_db
PAGE = "/practice/usual/"
QUIET = BY_KEY["quiet"]


@pytest.fixture
def pip():
    move_clock(EVENING)
    return pip_at_home()


def of(pip, role: Role) -> Client:
    client = Client()
    client.force_login(world.staff(pip.practice, role))
    return client


def owners_page(pip) -> str:
    return text_of(Client().get(f"{pip.home}patient/{pip.plan.pk}/"))


def test_owners_read_nothing_that_no_vet_has_approved(pip):
    assert "Is this usual?" not in owners_page(pip)


def test_once_approved_it_is_read_for_as_long_as_it_is_usual(pip):
    of(pip, Role.VET).post(PAGE, {"key": "quiet", "words": QUIET.words, "do": "approve"})

    assert QUIET.words in owners_page(pip)
    assert "Nobody has examined Pip for this" in owners_page(pip)
    assert UsualWords.objects.get().words == "", "ours, so that it is translated"
    move_clock(pip.plan.surgery_ended_at + QUIET.until + dt.timedelta(minutes=1))
    assert QUIET.words not in owners_page(pip)


def test_own_words_are_read_and_taken_back_and_written_down(pip):
    vet = of(pip, Role.VET)
    vet.post(PAGE, {"key": "quiet", "words": "Usual for two days. Worried? Phone.", "do": "approve"})
    assert "Usual for two days. Worried? Phone." in owners_page(pip)

    vet.post(PAGE, {"key": "quiet", "do": "take_back"})

    assert "Is this usual?" not in owners_page(pip)
    assert list(Event.objects.filter(what__startswith="usual_").values_list("what", flat=True)) == [
        "usual_approved",
        "usual_taken_back",
    ]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("Notwithstanding considerable postoperative somnolence, reassurance is appropriate.", "school grade"),
        ("It is so. " * 40, "characters"),
    ],
)
def test_what_is_too_hard_or_too_long_is_refused_at_its_field_and_kept(pip, words, said):
    response = of(pip, Role.VET).post(PAGE, {"key": "quiet", "words": words, "do": "approve"})

    assert response.status_code == 422
    assert said in text_of(response)
    assert words.strip()[:30] in response.content.decode()
    assert not UsualWords.objects.exists()


def test_only_a_vet_approves(pip):
    response = of(pip, Role.ADMINISTRATOR).post(PAGE, {"key": "quiet", "words": "", "do": "approve"})

    assert response.status_code == 422
    assert not UsualWords.objects.exists()
    assert of(pip, Role.FRONT_DESK).get(PAGE).status_code == 403


def test_another_practice_reads_its_own(pip):
    other = pip_at_home("oak-lane")
    approve(other.practice, QUIET, "", staff=other.vet, now=EVENING)

    assert "Is this usual?" not in owners_page(pip)
    assert QUIET.words in owners_page(other)


def test_something_that_nobody_proposes_is_not_here(pip):
    assert of(pip, Role.VET).post(PAGE, {"key": "purple", "do": "approve"}).status_code == 404
