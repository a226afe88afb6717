"""Silence as people meet it: the first morning's steps, calls, what was asked. Clinical defaults, 5 and 7."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.terms import Level
from followup.messaging.channel import Outcome as Sending
from followup.messaging.channel import Sent
from followup.models import CheckIn, Plan, Verdict
from followup.services.assess import assess
from followup.services.check_in_page import planned_questions
from followup.services.links import recipient_for
from followup.services.lost import heard_last
from followup.services.morning_list import morning_list
from followup.services.reply import Incoming, take_note
from followup.services.review import Looked, review
from followup.services.tick import tick
from tests import world
from tests.services.post import Post
from tests.services.silent import GOOD, owner_says, silence_of, staff_writes, ticks
from tests.world import at

pytestmark = pytest.mark.django_db

TEN, TWO, SIX = (at(clock, day=1) for clock in ("10:00", "14:00", "18:00"))


@pytest.fixture
def plan() -> Plan:
    """Pip, home at 16:30; nobody has said a word."""
    return world.running_plan()


# The first morning.


def test_the_tick_looks_at_14_and_at_18_and_the_flag_says_who_is_next(plan):
    ticks(at("18:30"), at("20:45"), at("22:00"), at("07:30", day=1), TEN)
    assert silence_of(plan).rules[0]["rule"] == "silence"
    plan.refresh_from_db()
    assert plan.look_again_at <= TWO

    ticks(TWO)
    assert "a vet decides" in silence_of(plan).because
    plan.refresh_from_db()
    assert plan.look_again_at <= SIX

    ticks(SIX)
    assert silence_of(plan).because.startswith("never heard from")
    assert plan.flags.filter(concern="silence").count() == 1


def first_row(now: dt.datetime) -> tuple[str, str]:
    row = morning_list(world.practice(), now=now).groups[0].rows[0]
    assert row.plan is not None
    assert row.need is not None
    return row.plan.patient.name, row.need.words


def test_never_heard_from_is_first_on_the_list_even_before_an_emergency_until_somebody_has_an_answer(plan):
    other = world.running_plan("rabbit")
    ticks(at("18:30"), at("20:45"), at("22:00"), at("07:30", day=1), TEN, TWO)
    staff_writes(other, at("17:50", day=1), breathing=["laboured"], **GOOD)
    assert first_row(at("17:59", day=1))[0] == "Clover"

    ticks(SIX)
    name, words = first_row(SIX)
    assert (name, words.split(":")[0]) == ("Pip", "never heard from")

    vet = world.staff(plan.practice)
    looked = Looked("no answer", "rang twice", really=Level.URGENT)
    review(silence_of(plan), looked, staff=vet, now=at("18:20", day=1))
    assert first_row(at("18:21", day=1)) == ("Pip", "Never heard from: nobody has an answer yet")

    staff_writes(plan, at("18:25", day=1), **GOOD)
    assert first_row(at("18:26", day=1))[0] == "Clover"


# A call by staff, in the records.


def test_a_call_drops_what_is_due_within_six_hours_and_answers_what_was_open(plan):
    ticks(at("18:30"))
    staff_writes(plan, at("19:00"), **GOOD)

    assert [each.state for each in plan.check_ins.filter(day=0)] == [CheckIn.State.ANSWERED, CheckIn.State.CANCELLED]
    assert plan.check_ins.get(day=1, kind="waking").state == CheckIn.State.PLANNED


def test_a_dose_a_weight_or_words_leave_the_check_in_open(plan):
    ticks(at("18:30"))
    owner_says(plan, at("18:40"), weight_g=["890"])
    author = recipient_for(plan.practice, plan.patient.owner, now=at("18:41"))
    take_note(author, Incoming("w", {"note": "x"}, "All fine I think"), plan=plan, now=at("18:41"))

    assert plan.check_ins.get(day=0, kind="evening").state == CheckIn.State.ASKED
    assert heard_last(plan) == at("18:41")


def test_a_message_that_failed_by_one_way_and_went_by_another_was_asked(plan):
    """E-mail delivered, text refused: nobody can say that he could not be asked."""
    ticks(at("18:30"))
    check_in = plan.check_ins.get(day=0, kind="evening")
    assert check_in.messages.filter(state="sent").exists()
    tick(now=at("19:00"), choose=Post(answer=Sent(Sending.PERMANENT, "no such number")))

    check_in.refresh_from_db()
    assert check_in.messages.filter(state="failed").exists()
    assert not check_in.could_not_be_asked


# Asked again.


def test_what_was_not_good_is_asked_again_at_the_next_check_in_but_not_with_one_question(plan):
    owner_says(plan, at("20:50"), **GOOD | {"wound.bleeding": ["spots"]})

    assert "wound.bleeding" in planned_questions(plan, None, at("07:30", day=1))
    plan.check_ins.filter(at__lte=at("09:00", day=1)).update(state=CheckIn.State.ANSWERED)
    about = {"practice": plan.practice, "kind": "extra", "day": 1, "questions": ["urine"]}
    plan.check_ins.create(at=at("12:00", day=1), answer_by=at("14:00", day=1), **about)
    assert planned_questions(plan, None, at("12:00", day=1)) == ("urine",)


def test_one_extra_question_asks_of_every_clock_that_runs_by_now(plan):
    evening = at("18:31", day=3)
    plan.check_ins.filter(at__lt=at("18:00", day=3)).update(state=CheckIn.State.ANSWERED)
    owner_says(plan, evening, **GOOD | {"appetite": ["none"]})
    owner_says(plan, evening + dt.timedelta(minutes=40), appetite=["none"], faeces=["none"])

    extra = plan.check_ins.get(kind="extra", state=CheckIn.State.PLANNED)
    assert extra.at == at("20:45", day=3)
    assert set(extra.questions) == {"appetite", "last_ate_at", "faeces", "last_faeces_at"}


def test_six_questions_beyond_the_schedule_in_a_day_are_enough(plan):
    now = at("18:31", day=3)
    for hour in range(6):
        plan.check_ins.create(
            practice=plan.practice, kind="extra", day=3, state=CheckIn.State.ASKED, questions=["urine"],
            at=now - dt.timedelta(hours=hour + 1), answer_by=now,
        )  # fmt: skip
    owner_says(plan, now, **GOOD | {"appetite": ["none"]})
    assert not plan.check_ins.filter(kind="extra", at__gt=now).exists()

    plan.check_ins.filter(kind="extra").earliest("at").delete()
    assess(plan, now=now, cause=Verdict.Cause.TIME)
    assert plan.check_ins.filter(kind="extra", at__gt=now).count() == 1
