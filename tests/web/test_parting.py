"""The end of a follow-up: thanks, late signs, and two questions that nobody must answer."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from followup.domain.terms import Outcome
from followup.models import Event, Plan, Reply, Task
from followup.services.died import record_death
from tests.owner_world import EVENING, move_clock, pip_at_home
from tests.pages import text_of

pytestmark = pytest.mark.django_db
ASKED = "Was it always clear what to do?"


@pytest.fixture
def pip():
    move_clock(EVENING)
    home = pip_at_home()
    Plan.objects.filter(pk=home.plan.pk).update(
        state=Plan.State.CLOSED, outcome=Outcome.NONE.value, closed_at=EVENING, closed_by=home.vet
    )
    return home


@pytest.fixture
def phone():
    return Client(enforce_csrf_checks=True)


def say(phone, pip, **said):
    return phone.post(f"{pip.home}parting/{pip.plan.pk}/", said)


def test_it_is_asked_once_with_thanks_and_late_signs(pip, phone):
    first = text_of(phone.get(pip.home))
    assert "Thank you for looking after Pip so well" in first
    assert "Until day 30, phone if the wound gets red" in first

    assert "Thank you" in text_of(say(phone, pip, clear="mostly", words="The times were not."))
    say(phone, pip, clear="no", words="Again.")

    assert ASKED not in text_of(phone.get(pip.home))
    assert Reply.objects.get().raw == {"parting": {"clear": "mostly"}}
    assert Event.objects.get(what="parting").data["clear"] == "mostly"
    assert Task.objects.filter(kind=Task.Kind.READ_WORDS).count() == 1


def test_one_tap_makes_nobody_a_task(pip, phone):
    say(phone, pip, clear="yes")

    assert Reply.objects.get().state == Reply.State.UNDERSTOOD
    assert not Task.objects.exists()


@pytest.mark.parametrize("said", [{}, {"clear": "perhaps"}, {"words": "  "}])
def test_nothing_said_is_asked_again(pip, phone, said):
    response = say(phone, pip, **said)

    assert response.status_code == 422
    assert ASKED in text_of(response)
    assert not Reply.objects.exists()


def test_nothing_is_asked_after_a_death_or_a_month_or_of_a_follow_up_that_runs(pip, phone):
    running = Plan.objects.filter(pk=pip.plan.pk)
    move_clock(EVENING + dt.timedelta(days=31))
    assert ASKED not in text_of(phone.get(pip.home))
    move_clock(EVENING)
    record_death(pip.patient, said_by="Ada Field", now=EVENING)
    assert ASKED not in text_of(phone.get(pip.home))
    assert running.exists()
    say(phone, pip, clear="yes")
    assert not Reply.objects.filter(raw__has_key="parting").exists()


def test_a_stranger_is_not_asked(pip, phone):
    other = pip_at_home("oak-lane")

    phone.post(f"{other.home}parting/{pip.plan.pk}/", {"clear": "yes"})

    assert not Reply.objects.exists()
