"""The reason of a silence that has ended: asked, kept beside the facts, shown, weighed. Evidence, C-10."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.models import CheckIn, Plan, Reply, Task
from followup.services.check_in_page import asks_why, planned_questions
from followup.services.links import recipient_for
from followup.services.raw_answers import one_by_one
from followup.services.reply import Incoming, answer_one
from followup.services.timeline import timeline
from tests import world
from tests.services.silent import GOOD, owner_says, silence_of, staff_writes, ticks
from tests.world import at

pytestmark = pytest.mark.django_db

TEN, TWO, SIX = (at(clock, day=1) for clock in ("10:00", "14:00", "18:00"))


@pytest.fixture
def plan() -> Plan:
    """Pip, home at 16:30; nobody has said a word."""
    return world.running_plan()


@pytest.fixture
def silent(plan: Plan) -> Plan:
    """Heard on the first evening, then nothing until 12:00 on day 1: the waking check-in's answer was due at 11:30."""
    owner_says(plan, at("20:50"), **GOOD)
    ticks(at("07:30", day=1), TEN, at("11:30", day=1))
    return plan


NOON = at("12:00", day=1)


def test_why_is_asked_when_an_answer_was_due_and_not_before(plan):
    owner_says(plan, at("20:50"), **GOOD)
    ticks(at("07:30", day=1))

    assert not asks_why(plan, at("11:29", day=1))
    assert asks_why(plan, at("11:30", day=1))
    assert planned_questions(plan, None, at("11:30", day=1))[-1] == "why_silent"
    owner_says(plan, NOON, **GOOD)
    assert not asks_why(plan, NOON)


def test_the_silence_of_an_extra_question_asks_nothing(plan):
    now = at("21:00", day=3)
    CheckIn.objects.filter(at__lte=now).update(state=CheckIn.State.ANSWERED)
    about = {"practice": plan.practice, "kind": "extra", "day": 3, "state": CheckIn.State.ASKED, "questions": []}
    plan.check_ins.create(at=at("18:40", day=3), answer_by=at("20:40", day=3), **about)

    assert not asks_why(plan, now)


def step(plan: Plan, key: str, *values: str, now: dt.datetime = NOON):
    author = recipient_for(plan.practice, plan.patient.owner, now=now)
    begun = Incoming("one", one_by_one(("appetite", "breathing", "why_silent")))
    return answer_one(plan, begun, {"id": f"{key}{values}", "key": key, "values": list(values)}, author=author, now=now)


def test_how_the_animal_is_counts_before_the_reason_is_asked(silent):
    step(silent, "appetite", "normal")
    before = step(silent, "breathing", "normal")

    assert (before.next, before.red) == ("why_silent", False)
    assert silent.observations.count() == 2
    assert silent.check_ins.get(day=1, kind="waking").state == CheckIn.State.ANSWERED


def test_what_needs_a_vet_is_said_before_the_reason_is_asked(silent):
    step(silent, "appetite", "normal")
    staff_writes(silent, NOON, urine=["straining"])  # an emergency that stands, whatever this check-in says
    before = step(silent, "breathing", "normal")

    assert (before.next, before.red) == ("why_silent", True)


@pytest.mark.parametrize(
    ("values", "words", "level"),
    [
        (["forgot"], "forgot, or was busy", 0),
        (["no_signal"], "no message or no signal", 0),
        (["other", "at work"], "something else: “at work”", 0),
        (["unwell"], "the animal was not well", 1),
    ],
)
def test_the_reason_is_kept_beside_the_facts_and_shown_on_the_flag_and_in_the_history(silent, values, words, level):
    for key, value in (("appetite", "normal"), ("breathing", "normal")):
        step(silent, key, value)
    step(silent, "why_silent", *values, now=NOON + dt.timedelta(minutes=1))

    assert not any("why" in key for seen in silent.observations.all() for key in seen.facts)
    assert silence_of(silent).because.endswith(f". Asked why: {words}")
    assert silent.events.get(what="silence_reason").text == words
    told = next(line for line in timeline(silent) if line.kind == "reply").details
    assert "kept you" in told[-1][0]
    silent.refresh_from_db()
    assert silent.level == level
    worry = silent.flags.filter(concern="worry").first()
    assert (worry.level if worry is not None else 0) == level


def test_the_same_reason_twice_is_one_and_a_changed_one_takes_its_place(silent):
    for key, value in (("appetite", "normal"), ("breathing", "normal"), ("why_silent", "forgot")):
        step(silent, key, value)
    step(silent, "why_silent", "forgot")
    assert silent.events.filter(what="silence_reason").count() == 1

    step(silent, "why_silent", "no_signal", now=NOON + dt.timedelta(minutes=1))

    assert silence_of(silent).because.count("Asked why") == 1
    assert silence_of(silent).because.endswith("no message or no signal")


def test_words_beside_the_reason_are_read_for_danger_and_by_a_person(silent):
    step(silent, "appetite", "normal")
    step(silent, "breathing", "normal")
    step(silent, "why_silent", "other", "he has died", now=NOON + dt.timedelta(minutes=1))

    silent.refresh_from_db()
    assert silent.paused == Plan.Pause.WORDS_SAY_DIED
    assert Reply.objects.get(client_id="one").text == "he has died"
    assert silent.tasks.filter(kind=Task.Kind.READ_WORDS).count() == 1


def test_the_reason_left_out_is_nothing(silent):
    for key, value in (("appetite", "normal"), ("breathing", "normal"), ("why_silent", "skipped")):
        step(silent, key, value)

    assert not silent.events.filter(what="silence_reason").exists()
    assert "Asked why" not in silence_of(silent).because


def test_told_on_the_phone_it_counts_the_same(silent):
    staff_writes(silent, NOON, why_silent=["unwell", "slept all day"], **GOOD)

    silent.refresh_from_db()
    assert silent.level == 1
    assert "slept all day" in silent.flags.get(concern="worry").because
