"""The page that shows how often rules and reviewers agreed, as staff see it."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Flag
from tests import world
from tests.owner_world import move_clock
from tests.services.test_agreement import reviewed
from tests.web.test_not_weighed_pages import text
from tests.world import at

pytestmark = pytest.mark.django_db

PAGE = "followup:agreement"
QUERIES = 9
"""Session, log-in, membership, clock twice, how sending stands in two, as on every page of staff; two of its own."""


@pytest.fixture
def desk() -> Client:
    move_clock(at("12:00", day=1))
    found = Client()
    found.force_login(world.staff(world.practice(), Role.FRONT_DESK))
    return found


def test_nothing_reviewed_is_said_in_words_without_a_table(desk):
    page = desk.get(reverse(PAGE))

    assert page.status_code == 200
    assert "Nothing to count yet." in text(page)
    assert "<table" not in page.content.decode()


def test_shares_stand_with_what_they_are_of_and_their_limits(desk):
    for really in (Level.URGENT, Level.URGENT, Level.EMERGENCY, Level.ON_TRACK):
        reviewed(really, worried="very")

    shown = text(desk.get(reverse(PAGE)))

    assert "The same level 2 of 4 95 % limits 15 to 85 %" in shown  # Wilson: 0.150 to 0.850
    assert "Missed: it was worse 1 of 4" in shown
    assert "False alarm: it was milder 1 of 4" in shown
    assert "Only flags that somebody reviewed since 11 December 2024 are counted" in shown  # 90 days before 11 March
    assert "urgent 1 2 0 1 4" in shown
    assert "worry 1 1 4" in shown  # the rule: worse once, milder once, of four


def test_the_span_can_be_chosen_and_nonsense_is_the_usual_one(desk):
    reviewed(Level.URGENT, worried="very")
    Flag.objects.update(reviewed_at=at("20:10", day=-60))

    assert "Nothing to count yet" in text(desk.get(reverse(PAGE), {"days": "30"}))
    assert "1 of 1" in text(desk.get(reverse(PAGE), {"days": "365"}))
    assert "1 of 1" in text(desk.get(reverse(PAGE), {"days": "-1; drop"}))


def test_reviews_of_before_the_question_are_named(desk):
    reviewed(Level.URGENT, worried="very")
    Flag.objects.update(judged_level=None)

    assert "1 reviewed flag without that answer, from before it was asked, is not counted." in text(
        desk.get(reverse(PAGE))
    )


def test_the_morning_list_and_the_review_lead_there(desk):
    flag = reviewed(Level.URGENT, worried="very")
    Flag.objects.filter(pk=flag.pk).update(state="open", judged_level=None)
    vet = Client()
    vet.force_login(world.staff(world.practice()))

    for page in (reverse("followup:morning"), reverse("followup:review_flag", args=[flag.pk])):
        assert f'href="{reverse(PAGE)}"' in vet.get(page).content.decode()


def test_the_number_of_queries_does_not_grow(desk, django_assert_num_queries):
    reviewed(Level.URGENT, worried="very")
    with django_assert_num_queries(QUERIES):
        desk.get(reverse(PAGE))
    for _ in range(3):
        reviewed(Level.ON_TRACK, worried="very")
    with django_assert_num_queries(QUERIES):
        desk.get(reverse(PAGE))
