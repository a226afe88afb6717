"""How it turned out, thirty days on: one tap on the owner's page, follow-up ended or not."""

from __future__ import annotations

import pytest
from django.test import Client

from followup.models import Notice, Plan, Recipient, Reply, Task
from followup.services.died import record_death
from followup.services.links import path_of
from tests import world
from tests.owner_world import move_clock
from tests.services.test_notices import signed_off

pytestmark = pytest.mark.django_db

DAY_30 = world.at("19:00", day=30)


@pytest.fixture
def plan() -> Plan:
    return signed_off(world.running_plan())


def home(plan: Plan) -> str:
    return path_of(Recipient.objects.get(person=plan.patient.owner))


def tap(client: Client, plan: Plan, answer: str, **more: str):
    return client.post(f"{home(plan)}day-30/{plan.pk}/", {"answer": answer, "entry": "one tap", **more})


def tasks(plan: Plan) -> list[str]:
    return list(plan.tasks.open().values_list("kind", flat=True))


def test_it_stands_on_the_owners_page_from_that_evening_on(client, plan):
    move_clock(world.at("18:29", day=30))
    assert "How did it turn out" not in client.get(home(plan)).content.decode()
    move_clock(DAY_30)
    page = client.get(home(plan)).content.decode()
    assert "How did it turn out for Pip?" in page
    assert f'action="{home(plan)}day-30/{plan.pk}/"' in page


def test_all_is_well_is_one_tap_and_asks_nobody_to_do_anything(client, plan):
    move_clock(DAY_30)
    assert "We are glad" in tap(client, plan, "well").content.decode()
    assert plan.notices.get(kind="day_30").answer == Notice.Answer.WELL
    assert tasks(plan) == []
    assert "How did it turn out" not in client.get(home(plan)).content.decode()


def test_something_wrong_asks_a_person_to_ring(client, plan):
    move_clock(DAY_30)
    answer = tap(client, plan, "not_well", words="The scar is red.").content.decode()
    assert "somebody here rings you" in answer
    assert tasks(plan) == [Task.Kind.PHONE]
    kept = Reply.objects.get(client_id__endswith="one tap")
    assert (kept.text, kept.state) == ("The scar is red.", Reply.State.FOR_A_PERSON)


def test_words_beside_a_good_answer_are_read_by_a_person(client, plan):
    move_clock(DAY_30)
    tap(client, plan, "well", words="Thank you all.")
    assert tasks(plan) == [Task.Kind.READ_WORDS]


def test_the_same_tap_twice_counts_once(client, plan):
    move_clock(DAY_30)
    tap(client, plan, "not_well")
    tap(client, plan, "not_well")
    assert tasks(plan) == [Task.Kind.PHONE]
    assert Reply.objects.filter(client_id__endswith="one tap").count() == 1


def test_a_made_up_answer_is_asked_again(client, plan):
    move_clock(DAY_30)
    page = tap(client, plan, "splendid").content.decode()
    assert "One tap is enough" in page
    assert plan.notices.get(kind="day_30").answer == ""


def test_before_the_day_after_a_death_and_for_a_stranger_there_is_no_such_page(client, plan):
    move_clock(world.at("09:00", day=29))
    assert tap(client, plan, "well").status_code == 404
    move_clock(DAY_30)
    other = world.running_plan("rabbit", of=world.owner(plan.practice, name="Somebody Else", email="e@example.org"))
    assert client.post(f"{home(other)}day-30/{plan.pk}/", {"answer": "well"}).status_code == 404
    record_death(plan.patient, said_by="the owner", now=DAY_30)
    assert tap(client, plan, "well").status_code == 404


def test_a_death_after_the_follow_up_has_ended_is_taken_down_too(client, plan):
    """Nothing more goes out, and what the vet signed stays signed."""
    move_clock(world.at("09:00", day=20))
    died = f"{home(plan)}died/{plan.pk}/"
    assert "died" in client.get(died).content.decode()
    client.post(died)
    plan.refresh_from_db()
    assert plan.patient.died_at is not None
    assert (plan.state, plan.outcome) == (Plan.State.CLOSED, "none")
    assert not plan.notices.filter(done_at=None).exists()
    assert tasks(plan) == [Task.Kind.PHONE]
