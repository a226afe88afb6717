"""An emergency that nobody was on call for: on waking the owner is asked whether he reached a vet. Defaults, 13."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Flag, Message, Notice, Plan, Reply, Task
from followup.services.escalate import escalate, record_outcome
from followup.services.links import path_of
from followup.services.notices import send_notices
from followup.services.people import first_recipients
from followup.services.reached_vet import asked_on_waking, take_reached
from followup.services.reply import Incoming
from tests import world
from tests.owner_world import move_clock
from tests.world import at

NIGHT, WAKING = at("23:30"), at("07:00", day=1)
MINUTE = dt.timedelta(minutes=1)

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    made.messages.all().delete()
    return made


@pytest.fixture
def flag(plan: Plan) -> Flag:
    return plan.flags.create(
        practice=plan.practice, concern="eating", level=Level.EMERGENCY, worst=Level.EMERGENCY,
        because="no food for 13 h", opened_at=NIGHT, raised_at=NIGHT, updated_at=NIGHT,
        round_began_at=NIGHT, next_alert_at=NIGHT,
    )  # fmt: skip


def asked(now: dt.datetime) -> list[Message]:
    send_notices(now=now)
    return list(Message.objects.filter(purpose=Message.Purpose.NEWS).order_by("pk"))


def tells(plan: Plan, answer: Notice.Reached, words: str = "", now: dt.datetime = WAKING) -> Reply:
    (author,) = first_recipients(plan, now=now)
    notice = asked_on_waking(plan.pk, author, now=now)
    assert notice is not None
    return take_reached(notice, answer, Incoming("a", {"reached_vet": answer}, words), author=author, now=now)


def test_nobody_on_call_at_night_is_asked_about_on_waking_and_once(plan, flag):
    escalate(now=NIGHT)
    escalate(now=NIGHT + 15 * MINUTE)

    assert asked(WAKING - MINUTE) == []
    (message,) = asked(WAKING)
    assert message.subject == "Did you reach a vet for Pip?"
    for words in ("{link}", "01632 960100", "01632 960200", "does not replace a vet"):
        assert words in message.body
    assert len(asked(WAKING + 15 * MINUTE)) == 1


def test_with_somebody_on_call_or_at_the_practice_nothing_is_asked(plan, flag):
    world.on_call(plan.practice, world.staff(plan.practice, Role.VET))
    escalate(now=NIGHT)
    world.practice().on_call_shifts.all().delete()
    Flag.objects.update(step=0, next_alert_at=at("09:00", day=1))
    escalate(now=at("09:00", day=1))

    assert not plan.notices.filter(kind=Notice.Kind.REACHED_VET).exists()


@pytest.mark.parametrize("outcome", [Flag.Outcome.SPOKEN_TO, Flag.Outcome.SENT_TO])
def test_who_was_spoken_to_in_the_night_is_not_asked(plan, flag, outcome):
    escalate(now=NIGHT)
    vet = world.staff(plan.practice, Role.VET)
    record_outcome(flag, staff=vet, outcome=outcome, note="the night vets", now=NIGHT + MINUTE)

    assert asked(WAKING) == []


def test_a_rota_that_ends_in_the_middle_of_an_emergency_is_asked_about_too(plan, flag):
    shift = world.on_call(plan.practice, world.staff(plan.practice, Role.VET))
    escalate(now=NIGHT)
    shift.delete()
    escalate(now=NIGHT + 5 * MINUTE)

    assert plan.notices.get(kind=Notice.Kind.REACHED_VET).at == WAKING


def test_after_a_morning_it_is_too_late_to_ask(plan, flag):
    escalate(now=NIGHT)

    assert asked(WAKING + 13 * 60 * MINUTE) == []
    (author,) = first_recipients(plan, now=WAKING)
    assert asked_on_waking(plan.pk, author, now=WAKING + 13 * 60 * MINUTE) is None


def test_another_night_is_asked_about_again(plan, flag):
    escalate(now=NIGHT)
    asked(WAKING)
    tells(plan, Notice.Reached.YES)
    again = NIGHT + 24 * 60 * MINUTE
    Flag.objects.update(step=0, round_began_at=again, next_alert_at=again)
    escalate(now=again)

    assert len(asked(WAKING + 24 * 60 * MINUTE)) == 2


def test_no_alerts_people_again_at_once_and_is_a_call(plan, flag):
    escalate(now=NIGHT)
    tells(plan, Notice.Reached.NOT_YET)

    flag.refresh_from_db()
    assert flag.next_alert_at == WAKING
    assert flag.because == "no food for 13 h. Asked on waking: no vet was reached yet"
    assert plan.tasks.get(kind=Task.Kind.PHONE).text.startswith("No vet was reached for Pip in the night")


def test_yes_ends_nothing_and_stands_where_the_emergency_stands(plan, flag):
    escalate(now=NIGHT)
    before = Flag.objects.get().next_alert_at
    reply = tells(plan, Notice.Reached.YES, words="She got fluids and goes back at ten.")

    flag.refresh_from_db()
    assert (flag.next_alert_at, flag.state) == (before, Flag.State.OPEN)
    assert flag.because.endswith("a vet was reached")
    assert plan.tasks.get(kind=Task.Kind.READ_WORDS).key.startswith(f"reply:{reply.pk}")


def test_words_that_name_a_death_pause_everything_here_too(plan, flag):
    escalate(now=NIGHT)
    tells(plan, Notice.Reached.YES, words="The vet was kind. He died at four.")

    plan.refresh_from_db()
    assert plan.paused == Plan.Pause.WORDS_SAY_DIED


def test_the_same_answer_sent_twice_counts_once(plan, flag):
    escalate(now=NIGHT)
    tells(plan, Notice.Reached.NOT_YET)
    alerted = WAKING + dt.timedelta(minutes=5)
    Flag.objects.update(next_alert_at=alerted)  # people were told meanwhile
    tells(plan, Notice.Reached.NOT_YET)

    assert plan.tasks.filter(kind=Task.Kind.PHONE).count() == 1
    assert plan.events.filter(what="reached_vet").count() == 1
    assert Flag.objects.get().next_alert_at == alerted


def test_the_page_asks_takes_the_tap_and_says_whom_to_phone_now(plan, flag):
    escalate(now=NIGHT)
    move_clock(WAKING)
    home, visitor = path_of(first_recipients(plan, now=WAKING)[0]), Client()

    assert "Did you reach a vet for Pip?" in visitor.get(home).content.decode()
    page = visitor.post(f"{home}reached-a-vet/{plan.pk}/", {"answer": "not_yet", "entry": "one"}).content.decode()
    for words in ("Phone a vet now", "+441632960200", "does not replace your vet"):
        assert words in page
    assert "Did you reach a vet" not in visitor.get(home).content.decode()


def test_before_the_night_there_is_no_such_page(plan):
    move_clock(WAKING)
    home = path_of(first_recipients(plan, now=WAKING)[0])

    assert Client().get(f"{home}reached-a-vet/{plan.pk}/").status_code == 404
