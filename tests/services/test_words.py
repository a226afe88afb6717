"""An owner's own words: urgent until a person has read them; words of death keep the owner in peace, not the staff."""

from __future__ import annotations

import pytest

from clinic.models import Role
from followup.domain.terms import Concern, Level
from followup.models import Message, Plan, Task
from followup.services.finish_task import finish_task
from followup.services.reply import Incoming, take_reply
from tests import world

pytestmark = pytest.mark.django_db


def written(text: str, **answers: list[str]) -> Plan:
    plan = world.running_plan()
    incoming = Incoming("phone 1", {"answers": answers}, text=text)
    take_reply(plan, incoming, author=plan.practice.recipients.get(), now=world.at("19:00"))
    plan.refresh_from_db()
    return plan


def test_danger_words_are_urgent_until_a_person_has_read_them():
    plan = written("I think he is bleeding a little")
    assert plan.flags.get(concern=Concern.WORDS).level == Level.URGENT
    assert plan.level == Level.URGENT

    nurse = world.staff(plan.practice, Role.NURSE)
    finish_task(plan.tasks.get(kind=Task.Kind.READ_WORDS), staff=nurse, result="A scratch.", now=world.at("19:10"))

    plan.refresh_from_db()
    assert plan.level == Level.ON_TRACK
    assert plan.flags.get(concern=Concern.WORDS).state == "open", "what was ever urgent only a person closes"


def test_calm_words_are_a_line_to_read_and_no_level():
    plan = written("Thank you, no blood at all")

    assert not plan.flags.exists()
    assert plan.tasks.filter(kind=Task.Kind.READ_WORDS).count() == 1


def test_words_of_death_beside_a_red_answer_still_reach_people_and_leave_the_owner_in_peace():
    plan = written("He has died. I am so sad", demeanour=["collapsed"])

    assert plan.paused == Plan.Pause.WORDS_SAY_DIED
    assert plan.flags.get(concern=Concern.BEHAVIOUR).next_alert_at == world.at("19:00")
    assert not plan.messages.filter(purpose=Message.Purpose.ADVICE).exists()
