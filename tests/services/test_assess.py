"""What follows from a verdict: flags, words to the owner, held doses, extra questions, the next look."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from clinic.models import Role
from followup.domain.terms import Certainty, Concern, Level
from followup.domain.verdict import Finding
from followup.models import CheckIn, Dose, Flag, Message, Plan, Verdict
from followup.services.assess import assess
from followup.services.gather import gather
from followup.services.reply import Incoming, take_reply
from followup.services.review import Looked, review
from tests import world

pytestmark = pytest.mark.django_db
GOOD: dict[str, Any] = {"appetite": ["normal"], "faeces": ["normal"], "demeanour": ["bright"]}


def answer(plan: Plan, clock: str, day: int = 0, **answers: Any) -> None:
    incoming = Incoming(f"phone {day} {clock}", {"answers": answers})
    take_reply(plan, incoming, author=plan.practice.recipients.get(), now=world.at(clock, day=day))
    plan.refresh_from_db()


def look(plan: Plan, clock: str, day: int = 0) -> None:
    assess(plan, now=world.at(clock, day=day), cause=Verdict.Cause.TIME)
    plan.refresh_from_db()


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


def flag_of(plan: Plan, concern: Concern) -> Flag:
    return plan.flags.filter(concern=concern).latest("pk")


def test_running_it_twice_changes_nothing(plan):
    answer(plan, "19:00", appetite=["less"], faeces=["fewer"])

    def recorded():
        counts = plan.verdicts.count(), plan.messages.count(), plan.events.count()
        return list(plan.flags.order_by("pk").values()), *counts

    before = recorded()
    look(plan, "19:00")

    assert recorded() == before


def test_a_monitor_flag_settles_itself_and_an_urgent_one_waits_for_a_person(plan):
    answer(plan, "19:00", appetite=["less"], worried=["very"])
    answer(plan, "20:45", **GOOD, worried=["no"])

    assert flag_of(plan, Concern.EATING).state == Flag.State.SETTLED
    worry = flag_of(plan, Concern.WORRY)
    assert (worry.state, worry.level, worry.worst) == (Flag.State.OPEN, Level.ON_TRACK, Level.URGENT)


def test_one_flag_a_concern_raised_and_counted_not_repeated(plan):
    answer(plan, "19:00", appetite=["less"])
    answer(plan, "19:45", appetite=["none"])
    look(plan, "22:00")

    eating = plan.flags.get(concern=Concern.EATING)
    assert eating.worst >= Level.URGENT
    assert eating.count >= 2


def test_a_review_covers_the_same_facts_and_not_a_newer_bad_answer(plan):
    answer(plan, "19:00", worried=["very"], **GOOD)
    vet = world.staff(plan.practice, Role.VET)
    review(flag_of(plan, Concern.WORRY), Looked("Fine", "Rang", really=Level.MONITOR), staff=vet, now=world.at("19:10"))

    look(plan, "19:20")
    assert plan.flags.filter(concern=Concern.WORRY).count() == 1
    answer(plan, "20:45", worried=["very"], **GOOD)
    assert plan.flags.filter(concern=Concern.WORRY, state=Flag.State.OPEN).count() == 1


def test_an_emergency_is_told_at_once_and_alerts_begin(plan):
    answer(plan, "19:00", demeanour=["collapsed"])

    flag = flag_of(plan, Concern.BEHAVIOUR)
    advice = plan.messages.get(purpose=Message.Purpose.ADVICE)
    assert flag.next_alert_at == world.at("19:00")
    assert flag.owner_told
    assert flag.owner_told_at == world.at("19:00")
    assert "01632 960200" in advice.body, "the provider for guinea pigs: the practice closed at 18:30"


def test_an_urgent_answer_is_told_on_the_page_and_an_urgent_hour_by_message(plan):
    answer(plan, "19:00", worried=["very"], **GOOD)
    assert not plan.messages.filter(purpose=Message.Purpose.ADVICE).exists()

    look(plan, "10:00", day=1)  # the first morning, unanswered
    assert plan.messages.filter(purpose=Message.Purpose.ADVICE).count() == 1


def test_a_rise_to_urgent_asleep_waits_for_the_waking_answer():
    """A rabbit's droppings reach 18 h at 05:00 while all sleep: nobody is alarmed before 08:00, or at all."""
    doe = world.running_plan("rabbit")
    owner = doe.patient.owner
    recipient = doe.practice.recipients.get(person=owner)
    told: dict[str, Any] = {"appetite": ["less"], "faeces": ["none"], "demeanour": ["quiet"]}
    take_reply(doe, Incoming("phone doe 1", {"answers": told}), author=recipient, now=world.at("20:50"))
    look(doe, "05:00", day=1)

    assert doe.level == Level.URGENT
    assert flag_of(doe, Concern.DROPPINGS).worst == Level.MONITOR
    assert doe.look_again_at is not None
    assert doe.look_again_at <= world.at("08:00", day=1)
    few: dict[str, Any] = {"appetite": ["less"], "faeces": ["fewer"], "demeanour": ["quiet"]}
    take_reply(doe, Incoming("phone doe 2", {"answers": few}), author=recipient, now=world.at("07:35", day=1))
    assert flag_of(doe, Concern.DROPPINGS).worst == Level.MONITOR


def test_without_that_answer_it_is_acted_on_an_hour_after_waking():
    doe = world.running_plan("rabbit")
    recipient = doe.practice.recipients.get(person=doe.patient.owner)
    told: dict[str, Any] = {"appetite": ["less"], "faeces": ["none"], "demeanour": ["quiet"]}
    take_reply(doe, Incoming("phone doe 1", {"answers": told}), author=recipient, now=world.at("20:50"))
    look(doe, "05:00", day=1)
    look(doe, "08:00", day=1)

    assert flag_of(doe, Concern.DROPPINGS).worst == Level.URGENT


def test_doses_are_held_and_let_go_with_the_sign(plan):
    answer(plan, "20:45", appetite=["none"], faeces=["normal"])
    look(plan, "07:00", day=1)
    assert plan.doses.filter(held=True).count() == plan.doses.filter(state=Dose.State.PLANNED).count() > 0

    answer(plan, "07:30", day=1, **GOOD)
    assert not plan.doses.filter(held=True).exists()


def test_a_running_clock_is_asked_about_again_and_at_most_six_times_a_day(plan):
    answer(plan, "18:45", appetite=["none"])
    extra = plan.check_ins.filter(kind="extra", state=CheckIn.State.PLANNED)
    assert extra.count() == 1
    assert extra.get().at < world.at("20:45")

    CheckIn.objects.filter(kind="extra").delete()
    for minutes in range(6):
        at = world.at("17:00") + dt.timedelta(minutes=minutes)
        CheckIn.objects.create(
            practice=plan.practice, plan=plan, kind="extra", day=0, at=at, answer_by=at, state=CheckIn.State.ASKED
        )
    answer(plan, "18:50", appetite=["none"])
    assert not plan.check_ins.filter(kind="extra", state=CheckIn.State.PLANNED).exists()


def test_a_level_that_changes_is_in_the_history_with_its_verdict(plan):
    answer(plan, "19:00", **GOOD)
    answer(plan, "20:45", demeanour=["collapsed"])

    changes = [(row.cause, Level(row.level).word) for row in plan.verdicts.order_by("at")]
    assert changes[-1] == ("reply", "emergency")
    body = plan.verdicts.order_by("at").last().body
    assert body["protocol"] == "guinea_pig_castration@1"
    assert body["flags"][0]["rule"] == "collapsed"
    assert plan.events.filter(what="level_changed", text="on_track to emergency").exists()


def test_what_was_urgent_before_sleep_stays_urgent_through_the_night(plan):
    def finding(level: Level) -> Finding:
        return Finding("any", Concern.EATING, level, Certainty.CERTAIN, "no food", "any", time_alone=True)

    urgent = {Concern.EATING: (finding(Level.URGENT),)}
    gather(plan, urgent, urgent, now=world.at("21:00"))
    gather(plan, {Concern.EATING: (finding(Level.MONITOR),)}, urgent, now=world.at("02:00", day=1))

    assert flag_of(plan, Concern.EATING).level == Level.URGENT
