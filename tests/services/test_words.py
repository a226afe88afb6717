"""An owner's own words: urgent until a person has read them; words of death keep the owner in peace, not the staff."""

from __future__ import annotations

import pytest

from clinic.models import Role
from followup.domain.terms import Concern, Level
from followup.models import Dose, Message, Plan, ProtocolVersion, Task
from followup.services.finish_task import CameOfIt, finish_task
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
    finish_task(plan.tasks.get(kind=Task.Kind.READ_WORDS), CameOfIt("A scratch."), staff=nurse, now=world.at("19:10"))

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


def test_words_of_death_pause_in_any_language_and_are_one_urgent_flag_until_read():
    plan = written("Elle est morte cette nuit")

    assert plan.paused == Plan.Pause.WORDS_SAY_DIED
    assert (plan.level, plan.flags.get(concern=Concern.WORDS).level) == (Level.URGENT, Level.URGENT)
    assert not plan.messages.filter(purpose=Message.Purpose.ADVICE).exists()

    nurse = world.staff(plan.practice, Role.NURSE)
    task = plan.tasks.get(kind=Task.Kind.READ_WORDS)
    finish_task(task, CameOfIt("Only tired.", lives=True), staff=nurse, now=world.at("19:10"))

    plan.refresh_from_db()
    assert (plan.paused, plan.level) == ("", Level.ON_TRACK)


@pytest.mark.parametrize("text", ["не ест, кровь", "xyzzy", "食べません"])
def test_words_in_no_language_that_we_read_are_a_line_for_a_person(text):
    plan = written(text)

    assert not plan.flags.exists()
    assert plan.tasks.filter(kind=Task.Kind.READ_WORDS).count() == 1


def test_a_double_dose_told_in_words_holds_the_painkiller_until_it_was_read():
    plan = written("aus Versehen doppelte Dosis gegeben")

    assert plan.flags.get(concern=Concern.MEDICINE).level == Level.URGENT
    assert set(plan.doses.filter(state=Dose.State.PLANNED).values_list("held", flat=True)) == {True}

    nurse = world.staff(plan.practice, Role.NURSE)
    finish_task(plan.tasks.get(kind=Task.Kind.READ_WORDS), CameOfIt("No."), staff=nurse, now=world.at("19:10"))
    assert set(plan.doses.filter(state=Dose.State.PLANNED).values_list("held", flat=True)) == {False}


def test_a_protocol_that_cannot_be_read_stops_no_words():
    plan = world.running_plan()
    ProtocolVersion.objects.update(text="broken = [")

    def write(client_id: str, text: str) -> None:
        take_reply(
            plan, Incoming(client_id, {}, text=text), author=plan.practice.recipients.get(), now=world.at("19:00")
        )

    write("one", "il n'arrête pas de saigner")
    assert "“n'arrête pas de saigner”" in plan.flags.get(concern="not_weighed").because
    assert plan.tasks.filter(kind=Task.Kind.READ_WORDS).count() == 1

    write("two", "Er ist gestorben")
    plan.refresh_from_db()
    assert plan.paused == Plan.Pause.WORDS_SAY_DIED


@pytest.mark.parametrize(("lives", "paused"), [(False, Plan.Pause.WORDS_SAY_DIED), (True, "")])
def test_words_of_a_death_that_were_read_pause_on_until_somebody_says_that_it_lives(lives, paused):
    plan = written("Er ist gestorben")
    vet = world.staff(plan.practice)
    finish_task(
        plan.tasks.get(kind=Task.Kind.READ_WORDS), CameOfIt("rang the owner", lives), staff=vet, now=world.at("19:10")
    )

    assert Plan.objects.get(pk=plan.pk).paused == paused
