"""What comes in is kept first, then understood; twice counts once; what cannot be read reaches a person."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import CheckIn, Dose, Flag, Observation, Plan, Reply, Task
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_note, take_reply, take_unfinished
from tests.owner_world import BEDTIME, EVENING, NIGHT_PHONE, pip_at_home
from tests.world import at, staff

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return pip_at_home()


def tell(world, client_id="one", *, now=EVENING, author=None, text="", **answers):
    incoming = Incoming(client_id, together({key.replace("__", "."): [each] for key, each in answers.items()}), text)
    return take_reply(world.plan, incoming, author=author or world.recipient, now=now)


def entries(key, value, *, of):
    """Answers one by one, of which this one has come."""
    entry = {"id": "1", "key": key, "values": [value], "at": EVENING.isoformat()}
    return {"entries": [entry], "understood": 0, "questions": of}


def stored(world, raw):
    """A reply that was kept, and whose process died before it was understood."""
    owner = {"practice": world.practice, "plan": world.plan, "recipient": world.recipient}
    return Reply.objects.create(**owner, client_id="cut", received_at=EVENING, raw=raw)


def test_a_good_answer_is_kept_understood_and_answers_the_check_in(world):
    taken = tell(world, appetite="normal", faeces="normal", demeanour="bright")

    assert taken.reply.state == Reply.State.UNDERSTOOD
    assert Observation.objects.get().facts["appetite"] == "normal"
    assert world.plan.check_ins.filter(state=CheckIn.State.ANSWERED).count() == 1  # the evening's, not bedtime's
    assert taken.advice.heading == "Nothing you told us worries us today"


def test_the_same_reply_twice_counts_once(world):
    first = tell(world, appetite="none")
    again = tell(world, appetite="normal")  # the same client's id: what came first stands

    assert again.reply.pk == first.reply.pk
    assert Observation.objects.count() == 1


def test_an_hour_early_is_early_enough_and_earlier_is_not(world):
    tell(world, "early", now=EVENING - dt.timedelta(minutes=61), appetite="normal")
    assert not world.plan.check_ins.filter(state=CheckIn.State.ANSWERED).exists()

    tell(world, "hour", now=EVENING - dt.timedelta(minutes=60), appetite="normal")
    assert world.plan.check_ins.get(state=CheckIn.State.ANSWERED).at == EVENING


def test_one_answer_about_eating_answers_every_earlier_open_check_in(world):
    tell(world, now=at("07:35", day=1), appetite="normal")

    answered = world.plan.check_ins.filter(state=CheckIn.State.ANSWERED)
    assert [check_in.kind for check_in in answered] == ["evening", "bedtime", "waking"]


def test_not_sure_about_eating_answers_but_a_weight_alone_does_not(world):
    tell(world, "weight", weight_g="890")
    assert not world.plan.check_ins.filter(state=CheckIn.State.ANSWERED).exists()

    tell(world, "unsure", appetite="not_sure")
    assert world.plan.check_ins.filter(state=CheckIn.State.ANSWERED).exists()


def test_what_staff_hear_on_the_phone_is_triaged_the_same_and_drops_what_is_asked_within_six_hours(world):
    tell(world, author=world.vet, appetite="normal")

    assert Observation.objects.get().by == "staff"
    bedtime = world.plan.check_ins.get(at=BEDTIME)
    assert bedtime.state == CheckIn.State.CANCELLED  # 20:45 lies within 18:30 + 6 h


def test_laboured_breathing_at_night_is_an_emergency_with_the_number_that_answers(world):
    taken = tell(world, now=BEDTIME, breathing="laboured", appetite="none")

    assert taken.understood.level is Level.EMERGENCY
    assert (taken.advice.heading, taken.advice.phone) == ("Phone a vet now", NIGHT_PHONE)
    assert "Nobody at Elm Street Clinic can see this before Tuesday 08:00" in taken.advice.what_happened
    assert Flag.objects.get(concern="breathing").next_alert_at == BEDTIME


def test_with_a_vet_on_call_the_owner_hears_that_the_vet_is_being_alerted(world):
    world.on_call()

    taken = tell(world, now=BEDTIME, breathing="laboured")

    assert "The vet on call is being alerted" in taken.advice.what_happened


def test_words_are_kept_and_somebody_reads_them(world):
    tell(world, text="He sleeps in the hay.", appetite="normal")

    task = Task.objects.get(kind=Task.Kind.READ_WORDS)
    assert (task.due_at, task.plan) == (EVENING, world.plan)


def test_an_answer_that_no_question_offers_is_kept_for_a_person_and_the_owner_gets_a_number(world):
    taken = tell(world, appetite="lots", text="and he looks odd")

    assert taken.reply.state == Reply.State.FOR_A_PERSON
    assert taken.reply.raw["answers"]["appetite"] == ["lots"]
    assert Task.objects.filter(kind=Task.Kind.PHONE).count() == 1
    assert taken.understood.level is Level.URGENT
    assert taken.advice.phone


def test_an_answer_that_cannot_be_read_stays_as_it_came_and_a_person_rings(world):
    taken = tell(world, appetite="purple")

    assert Reply.objects.get().raw == {"answers": {"appetite": ["purple"]}}
    assert taken.reply.state == Reply.State.FOR_A_PERSON
    assert not Observation.objects.exists()
    assert Task.objects.filter(kind=Task.Kind.PHONE).exists()
    assert taken.advice is not None
    assert (taken.advice.level, bool(taken.advice.phone)) == (Level.URGENT, True)
    assert not Flag.objects.exists()


def test_an_answer_that_cannot_be_read_but_says_something_red_is_an_emergency_at_once(world):
    world.on_call()
    taken = tell(world, appetite="purple", demeanour="collapsed")

    flag = Flag.objects.get()
    assert (flag.concern, flag.worst, flag.next_alert_at) == ("not_weighed", Level.EMERGENCY, EVENING)
    assert flag.because == "Pip: an answer could not be weighed, and it says: demeanour collapsed"
    assert taken.advice is not None
    assert taken.advice.level == Level.EMERGENCY
    assert world.plan.messages.filter(purpose="advice").count() == 1


def test_words_that_say_he_died_pause_everything_until_a_person_has_read_them(world):
    tell(world, text="I am sorry to say that he has died.")

    world.plan.refresh_from_db()
    assert (world.plan.state, world.plan.paused) == (Plan.State.RUNNING, Plan.Pause.WORDS_SAY_DIED)
    assert "has died" in Task.objects.get(kind=Task.Kind.READ_WORDS).text


def test_a_dose_that_two_people_tell_of_differently_is_for_a_third(world):
    dose = world.plan.doses.order_by("at").first()
    nurse = staff(world.practice, Role.NURSE)

    def told(client_id, outcome, author):
        raw = {"dose": {"id": dose.pk, "outcome": outcome}}
        return take_reply(world.plan, Incoming(client_id, raw), author=author, now=dose.at)

    told("a", "given", world.recipient)
    told("b", "refused", nurse)

    dose.refresh_from_db()
    assert (dose.state, dose.outcome, dose.given_at) == (Dose.State.REPORTED, "given", dose.at)
    assert "after “given” had been told" in Task.objects.get(key=f"dose:{dose.pk}:refused").text


def test_what_is_written_after_the_end_reaches_a_person(world):
    Plan.objects.filter(pk=world.plan.pk).update(state=Plan.State.CLOSED, outcome="none", closed_at=at("12:00", day=14))
    world.plan.refresh_from_db()

    reply = take_note(
        world.recipient, Incoming("late", {}, "The wound is red."), plan=world.plan, now=at("09:00", day=20)
    )

    assert reply.text == "The wound is red."
    assert Task.objects.get().due_at == at("09:00", day=20)


def test_what_was_stored_and_never_taken_in_is_taken_in_by_the_tick(world):
    stored(world, entries("appetite", "none", of=["appetite", "last_ate_at"]))

    assert take_unfinished(now=EVENING + dt.timedelta(minutes=9)) == 0
    assert take_unfinished(now=EVENING + dt.timedelta(minutes=10)) == 1
    assert take_unfinished(now=EVENING + dt.timedelta(minutes=30)) == 0

    seen = Observation.objects.get()
    assert (seen.seen_at, seen.facts["appetite"]) == (EVENING, "none")


HALF_A_MINUTE = dt.timedelta(seconds=30)


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (together({"weight_g": ["880"]}), "it came whole"),
        (entries("breathing", "laboured", of=["breathing", "appetite"]), "its last answer is an emergency"),
        (entries("worried", "no", of=["worried"]), "nothing else was asked"),
    ],
)
def test_what_should_have_been_weighed_at_once_waits_half_a_minute_for_a_process_that_died(world, raw, why):
    stored(world, raw)

    assert take_unfinished(now=EVENING + HALF_A_MINUTE - dt.timedelta(seconds=1)) == 0
    assert take_unfinished(now=EVENING + HALF_A_MINUTE) == 1, why
    assert Reply.objects.get().state == Reply.State.UNDERSTOOD


def test_a_check_in_of_which_no_answer_was_kept_waits_for_its_owner(world):
    stored(world, {"entries": [], "understood": 0, "questions": ["appetite"]})

    assert take_unfinished(now=EVENING + dt.timedelta(minutes=9)) == 0
