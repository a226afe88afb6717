"""What a phone kept without a net, and what comes after the end: taken as told then, and never lost."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from followup.domain.terms import Outcome
from followup.models import Plan, Reply, Task
from followup.services.died import record_death
from followup.services.raw_answers import entries_of
from tests.owner_world import EVENING, GOOD, answer, move_clock, pip_at_home
from tests.pages import text_of

HOUR = dt.timedelta(hours=1)
pytestmark = pytest.mark.django_db


@pytest.fixture
def pip():
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone():
    return Client(enforce_csrf_checks=True)


def told(phone, pip, **answer):
    return phone.post(f"{pip.home}ask/{pip.plan.pk}/one/", {"entry": "1", **answer})


def near(found: dt.datetime, wanted: dt.datetime) -> bool:
    return abs(found - wanted) < dt.timedelta(minutes=1)


@pytest.mark.parametrize(
    ("ago", "given"),
    [
        ("", EVENING),
        ("0", EVENING),
        ("3600", EVENING - HOUR),
        ("-5", EVENING),
        ("soon", EVENING),
        ("٣", EVENING),
        ("99999999", EVENING),
    ],
)
def test_an_answer_counts_from_when_it_was_given(pip, phone, ago, given):
    told(phone, pip, question="appetite", answer="normal", ago=ago)

    assert near(entries_of(Reply.objects.get())[0].at, given)


def test_an_answer_is_never_from_before_the_end_of_the_operation(pip, phone):
    told(phone, pip, question="appetite", answer="normal", ago=str(20 * 3600))

    assert entries_of(Reply.objects.get())[0].at == pip.plan.surgery_ended_at


def test_less_than_two_hours_ago_is_reckoned_from_when_it_was_said(pip, phone):
    """Told at 17:30, arrived at 18:30: at the latest he ate at 17:30, at the earliest at 15:30."""
    told(phone, pip, question="demeanour", answer="collapsed", ago="3600")
    phone.post(
        f"{pip.home}ask/{pip.plan.pk}/one/",
        {"entry": "2", "question": "last_ate_at", "answer": "under_2_hours", "ago": "3600"},
    )
    for reply in Reply.objects.all():
        assert all(near(each.at, EVENING - HOUR) for each in entries_of(reply))


def test_a_dose_told_without_a_net_was_given_when_it_was_told(pip, phone):
    dose = pip.plan.doses.earliest("at")
    given = dose.at + dt.timedelta(minutes=10)
    move_clock(given + 2 * HOUR)

    phone.post(f"{pip.home}dose/{pip.plan.pk}/{dose.pk}/", {"entry": "d", "outcome": "given", "ago": "7200"})

    dose.refresh_from_db()
    assert dose.outcome == "given"
    assert dose.given_at is not None
    assert near(dose.given_at, given)


def ended(pip) -> None:
    Plan.objects.filter(pk=pip.plan.pk).update(
        state=Plan.State.CLOSED, outcome=Outcome.NONE.value, closed_at=EVENING, closed_by=pip.vet
    )


def test_an_answer_to_a_follow_up_that_has_ended_is_read_by_a_person(pip, phone):
    ended(pip)

    response = told(phone, pip, question="appetite", answer="none")

    assert response.status_code == 200
    assert "your words are saved" in text_of(response)
    assert Reply.objects.get().text == "Has Pip eaten anything since the end of the follow-up? Nothing"
    assert Task.objects.filter(kind=Task.Kind.READ_WORDS).count() == 1


@pytest.mark.parametrize(
    ("page", "told", "kept"),
    [("dose", {"outcome": "spat_out", "words": "He spat it on the sofa."}, "He spat it on the sofa."),
     ("weight", {"typed": "905"}, "905")],
)  # fmt: skip
def test_words_of_any_form_that_come_after_the_end_are_kept(pip, phone, page, told, kept):
    ended(pip)
    dose = pip.plan.doses.earliest("at")
    path = f"dose/{pip.plan.pk}/{dose.pk}/" if page == "dose" else f"weight/{pip.plan.pk}/"

    phone.post(pip.home + path, {"entry": "late", **told})
    response = phone.post(pip.home + path, {"entry": "late", **told})

    assert "your words are saved" in text_of(response)
    assert Reply.objects.get().text == kept
    assert phone.get(pip.home + path).status_code == 404


def test_the_same_after_a_death_asks_nothing_and_rings_no_alarm(pip, phone):
    record_death(pip.patient, said_by="Ada Field", now=EVENING)

    response = told(phone, pip, question="text", typed="We buried him under the apple tree.")

    assert "We buried him" in Reply.objects.get().text
    assert "Bleeding that drips" not in text_of(response)


def test_nothing_said_and_another_owners_animal_leave_nothing(pip, phone):
    ended(pip)
    assert told(phone, pip, question="appetite", skip="1").status_code == 404
    stranger = pip_at_home("oak-lane")
    ended(stranger)
    late = {"question": "appetite", "answer": "none", "entry": "x"}
    assert phone.post(f"{pip.home}ask/{stranger.plan.pk}/one/", late).status_code == 404
    assert not Reply.objects.exists()


def test_sent_again_it_counts_once(pip, phone):
    ended(pip)
    for _ in range(2):
        told(phone, pip, question="appetite", answer="none")

    assert Reply.objects.count() == 1


def test_the_end_names_the_hour_at_which_it_would_get_worse_and_an_emergency_none(pip, phone):
    path = f"{pip.home}done/{pip.plan.pk}/one/"
    answer(phone, pip.home, pip.plan, GOOD)
    Plan.objects.filter(pk=pip.plan.pk).update(look_again_at=EVENING + HOUR)
    assert "It counts as more urgent today at 19:30, if nothing new is told until then." in text_of(phone.get(path))

    Plan.objects.filter(pk=pip.plan.pk).update(look_again_at=EVENING - HOUR)
    assert "more urgent" not in text_of(phone.get(path))
    Plan.objects.filter(pk=pip.plan.pk).update(look_again_at=EVENING + HOUR, level=3)
    assert "more urgent" not in text_of(phone.get(path))
