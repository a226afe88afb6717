"""A person reviews a flag: by whom, what was found and done; and what a vet's word then holds back."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import replace

import pytest

from clinic.models import Role
from followup.domain.terms import FollowUpError, Level
from followup.models import Event, Flag, Plan, Recipient, Verdict
from followup.services.assess import assess
from followup.services.finish_task import AlreadyDone, CameOfIt, finish_task
from followup.services.mark_seen import mark_seen
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.review import AlreadyReviewed, Looked, review
from followup.services.who_may import NotYours
from followup.services.wound_review import AlreadyLookedAt, WoundLook, look_at_wound
from tests import world

pytestmark = pytest.mark.django_db


def told(plan: Plan, now: dt.datetime, **answers: str) -> None:
    """The desk types in what the owner says on the phone."""
    raw = together({key.replace("__", "."): [value] for key, value in answers.items()})
    desk = world.staff(plan.practice, Role.FRONT_DESK)
    take_reply(plan, Incoming(uuid.uuid4().hex, raw), author=desk, now=now)


def bleeding(plan: Plan) -> Flag:
    told(plan, world.at("20:00"), appetite="normal", wound__bleeding="steady_drip")
    return plan.flags.open().get(concern="wound")


LOOKED = Looked("a scab was licked off, dry now", "pressed for five minutes on the phone", really=Level.MONITOR)


def test_a_vet_reviews_an_emergency_and_it_stays_reviewed():
    plan = world.running_plan()
    flag = bleeding(plan)

    review(flag, LOOKED, staff=world.staff(plan.practice), now=world.at("20:10"))

    assert flag.state == Flag.State.REVIEWED
    assert (flag.found, flag.done) == (LOOKED.found, LOOKED.done)
    assert flag.next_alert_at is None
    assess(plan, now=world.at("20:20"), cause=Verdict.Cause.TIME)  # the same facts open nothing anew
    assert not plan.flags.open().filter(concern="wound").exists()


def test_a_newer_bad_answer_opens_a_new_flag_after_a_review():
    plan = world.running_plan()
    review(bleeding(plan), LOOKED, staff=world.staff(plan.practice), now=world.at("20:10"))

    told(plan, world.at("20:30"), appetite="normal", wound__bleeding="steady_drip")

    assert plan.flags.open().get(concern="wound").level == Level.EMERGENCY


@pytest.mark.parametrize("role", [Role.NURSE, Role.FRONT_DESK, Role.ADMINISTRATOR])
def test_what_was_ever_an_emergency_is_a_vets(role):
    plan = world.running_plan()
    flag = bleeding(plan)

    with pytest.raises(NotYours, match="only a vet"):
        review(flag, LOOKED, staff=world.staff(plan.practice, role), now=world.at("20:10"))

    assert Flag.objects.get(pk=flag.pk).state == Flag.State.OPEN


def test_what_was_ever_urgent_is_a_vets_too():
    plan = world.running_plan()
    told(plan, world.at("20:00"), appetite="normal", worried="very")
    flag = plan.flags.open().get(worst=Level.URGENT)

    with pytest.raises(NotYours, match="only a vet"):
        review(flag, LOOKED, staff=world.staff(plan.practice, Role.NURSE), now=world.at("20:10"))


def test_an_emergency_that_has_eased_is_still_a_vets():
    plan = world.running_plan()
    flag = bleeding(plan)
    told(plan, world.at("20:31"), appetite="normal", wound__bleeding="none")  # beyond the half hour of contradiction
    flag.refresh_from_db()
    assert (flag.level, flag.worst) == (Level.ON_TRACK, Level.EMERGENCY)

    with pytest.raises(NotYours):
        review(flag, LOOKED, staff=world.staff(plan.practice, Role.NURSE), now=world.at("20:40"))


def test_a_nurse_closes_what_was_never_worse_than_monitor():
    plan = world.running_plan()
    told(plan, world.at("20:00"), appetite="normal", worried="a_little")
    flag = plan.flags.open().get(worst=Level.MONITOR)

    review(flag, LOOKED, staff=world.staff(plan.practice, Role.NURSE), now=world.at("20:10"))

    assert flag.state == Flag.State.REVIEWED


def test_a_vet_of_another_practice_may_not():
    plan = world.running_plan()
    elsewhere = world.staff(world.practice("oak-lane", seeded=False), name="Vet of elsewhere")

    with pytest.raises(NotYours):
        review(bleeding(plan), LOOKED, staff=elsewhere, now=world.at("20:10"))


def test_the_second_of_two_is_told_who_was_first_and_changes_nothing():
    plan = world.running_plan()
    flag = bleeding(plan)
    also = Flag.objects.get(pk=flag.pk)
    review(flag, LOOKED, staff=world.staff(plan.practice, name="Vet Adams"), now=world.at("20:10"))

    with pytest.raises(AlreadyReviewed, match=r"Vet Adams reviewed this flag at 20:10: a scab was licked off"):
        review(
            also,
            Looked("x", "y", really=Level.URGENT),
            staff=world.staff(plan.practice, name="Vet Brown"),
            now=world.at("20:11"),
        )

    assert Flag.objects.get(pk=flag.pk).found == LOOKED.found


def test_a_vets_word_is_kept_in_the_case_until_it_runs_out():
    plan = world.running_plan()
    spoken = Looked(
        "eats a little",
        "syringe feeding explained",
        "phone at 23:00",
        spoke=True,
        look_again_at=world.at("23:00"),
        really=Level.MONITOR,
    )

    review(bleeding(plan), spoken, staff=world.staff(plan.practice), now=world.at("20:10"))

    plan.refresh_from_db()
    (said,) = plan.case["vet_said"]
    assert dt.datetime.fromisoformat(said["at"]) == world.at("20:10")
    assert dt.datetime.fromisoformat(said["look_again_at"]) == world.at("23:00")


def test_a_nurses_word_holds_nothing_back():
    plan = world.running_plan()
    told(plan, world.at("20:00"), appetite="normal", worried="a_little")
    flag = plan.flags.open().get(worst=Level.MONITOR)
    spoken = Looked(
        "worried about the cage",
        "explained",
        "all well",
        spoke=True,
        look_again_at=world.at("23:00"),
        really=Level.MONITOR,
    )

    review(flag, spoken, staff=world.staff(plan.practice, Role.NURSE), now=world.at("20:10"))

    plan.refresh_from_db()
    assert "vet_said" not in plan.case


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"found": " "}, "found"),
        ({"done": ""}, "done"),
        ({"spoke": True}, "look_again_at"),
        ({"spoke": True, "look_again_at": world.at("20:00")}, "look_again_at"),
        ({"spoke": True, "look_again_at": world.at("20:11", day=1)}, "look_again_at"),
        ({"really": None}, "really"),
    ],
)
def test_a_review_that_is_not_whole_is_refused_where_it_is_missing(changes, field):
    plan = world.running_plan()
    flag = bleeding(plan)

    with pytest.raises(FollowUpError) as refused:
        review(flag, replace(LOOKED, **changes), staff=world.staff(plan.practice), now=world.at("20:10"))

    assert refused.value.field == field
    assert Flag.objects.get(pk=flag.pk).state == Flag.State.OPEN


def test_what_it_really_was_is_kept_beside_what_the_rules_said_and_the_verdict_that_it_rests_on():
    plan = world.running_plan()
    flag = bleeding(plan)
    raised = plan.verdicts.get(level=Level.EMERGENCY)
    told(plan, world.at("20:31"), appetite="normal", wound__bleeding="none")
    flag.refresh_from_db()

    review(flag, LOOKED, staff=world.staff(plan.practice), now=world.at("20:40"))

    flag.refresh_from_db()
    assert (flag.worst, flag.level, flag.judged_level) == (Level.EMERGENCY, Level.ON_TRACK, Level.MONITOR)
    assert flag.judged_verdict == raised  # not the milder one of 20:31
    assert flag.judged_protocol == raised.body["protocol"] == str(plan.protocol)
    kept = Event.objects.get(plan=plan, what="flag_reviewed")
    levels = {key: kept.data[key] for key in ("worst", "at_review", "really")}
    assert levels == {"worst": "emergency", "at_review": "on_track", "really": "monitor"}
    assert "Really: to watch, on the next list" in kept.text


def test_a_nurse_who_finds_it_worse_hands_it_to_a_vet():
    plan = world.running_plan()
    told(plan, world.at("20:00"), appetite="normal", worried="a_little")
    flag = plan.flags.open().get(worst=Level.MONITOR)
    nurse = world.staff(plan.practice, Role.NURSE)

    with pytest.raises(FollowUpError, match="Only a vet closes") as refused:
        review(flag, replace(LOOKED, really=Level.URGENT), staff=nurse, now=world.at("20:10"))

    assert refused.value.field == "really"
    assert Flag.objects.get(pk=flag.pk).state == Flag.State.OPEN
    review(flag, replace(LOOKED, really=Level.URGENT), staff=world.staff(plan.practice), now=world.at("20:11"))
    assert Flag.objects.get(pk=flag.pk).judged_level == Level.URGENT


def test_a_wound_is_looked_at_once():
    plan = world.running_plan()
    due = plan.wound_reviews.get(day=3)
    nurse = world.staff(plan.practice, Role.NURSE, "Nurse Clark")
    look_at_wound(due, WoundLook("dry, closed", "go on"), staff=nurse, now=world.at("09:00", day=3))

    with pytest.raises(AlreadyLookedAt, match=r"Nurse Clark did this wound review on 13 March at 09:00"):
        look_at_wound(due, WoundLook("?", "?"), staff=nurse, now=world.at("09:05", day=3))

    assert due.found == "dry, closed"


def test_the_front_desk_judges_no_wound_and_marks_nothing_as_seen():
    plan = world.running_plan()
    desk = world.staff(plan.practice, Role.FRONT_DESK)

    with pytest.raises(NotYours):
        look_at_wound(plan.wound_reviews.get(day=3), WoundLook("fine", "none"), staff=desk, now=world.at("09:00"))
    with pytest.raises(NotYours):
        mark_seen(plan, staff=desk, now=world.at("09:00"))


def test_words_that_seemed_to_tell_of_a_death_are_read_and_the_follow_up_goes_on():
    plan = world.running_plan()
    recipient = Recipient.objects.get(messages__plan=plan, messages__purpose="welcome")
    words = Incoming(uuid.uuid4().hex, {}, text="I think it is over. He died tonight.")
    take_reply(plan, words, author=recipient, now=world.at("21:00"))
    plan.refresh_from_db()
    assert plan.paused == Plan.Pause.WORDS_SAY_DIED
    task = plan.tasks.open().get(kind="read_words")

    finish_task(task, CameOfIt("rang: asleep", lives=True), staff=world.staff(plan.practice), now=world.at("21:05"))

    plan.refresh_from_db()
    assert plan.paused == ""
    assert plan.replies.get(text=words.text).state == "read"
    assert Event.objects.filter(plan=plan, what="goes_on").count() == 1
    with pytest.raises(AlreadyDone, match="finished this at 21:05: rang: asleep"):
        finish_task(task, CameOfIt("again"), staff=world.staff(plan.practice), now=world.at("21:06"))
