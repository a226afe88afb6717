"""A running plan is changed: the past stays, the owner hears once, and what was overtaken never goes out."""

from __future__ import annotations

from typing import Any

import pytest

from clinic.models import Role
from followup.domain.terms import DoseOutcome, FollowUpError
from followup.models import CheckIn, Dose, Message, Plan, PlanVersion
from followup.services.ask import ask_what_is_due
from followup.services.draft import PlanRefused
from followup.services.emergency_sheet import emergency_sheet
from followup.services.facts import compiled_of
from followup.services.links import recipient_for
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.revise import CannotBeRevised, Revision, rehearse_revision, revise
from followup.services.tick import tick
from followup.services.who_may import NotYours
from tests.services.post import Post
from tests.world import at, facts, running_plan, staff

pytestmark = pytest.mark.django_db

MORNING = at("12:00", day=1)
"""Of two doses at 10:00 on days 1 and 2 the first is over."""


@pytest.fixture
def plan() -> Plan:
    return running_plan()


@pytest.fixture
def vet(plan):
    return staff(plan.practice, Role.VET)


def meloxicam(**changes):
    (asked,) = facts()["home_medication"]
    return asked | {"days": 1} | changes


def revision(**changes: Any) -> Revision:
    known: dict[str, Any] = {"because": "Weighed at the recheck.", "version": 1, "keeps": {"meloxicam": None}}
    return Revision(**known | changes)


def rows(plan) -> list[tuple[int, str, str]]:
    found = plan.doses.exclude(state__in=[Dose.State.CANCELLED, Dose.State.ENDED]).order_by("at")
    return [(row.number, f"{row.at.astimezone(plan.practice.zone):%d %H:%M}", row.amount) for row in found]


def report(plan, number: int, *, now) -> Dose:
    dose: Dose = plan.doses.get(number=number)
    said = Incoming(f"dose {number}", {"dose": {"id": dose.pk, "outcome": "given"}})
    take_reply(plan, said, author=recipient_for(plan.practice, plan.patient.owner, now=now), now=now)
    return dose


def told(plan) -> list[str]:
    waiting = plan.messages.filter(purpose=Message.Purpose.NEWS, state=Message.State.READY)
    return [message.body for message in waiting]


def test_a_new_weight_changes_the_next_dose_and_is_told_once(plan, vet):
    report(plan, 1, now=at("10:05", day=1))
    revise(plan, revision(weight_g=800), staff=vet, now=MORNING)

    assert rows(plan) == [(1, "11 10:00", "0.18 ml"), (2, "12 10:00", "0.16 ml")]
    (body,) = told(plan)
    assert "0.16 ml from now on, no longer 0.18 ml. Next dose tomorrow at 10:00, 1 dose to come" in body
    assert plan.patient.weights.order_by("-at").first().grams == 800
    assert compiled_of(plan).weight_alerts.monitor == 855  # losses are still reckoned from the weight at discharge


def test_a_weight_at_discharge_that_was_wrong_moves_the_baseline_too(plan, vet):
    report(plan, 1, now=at("10:05", day=1))
    revise(plan, revision(weight_g=1000, corrects=True), staff=vet, now=MORNING)
    assert compiled_of(plan).weight_alerts.monitor == 950
    assert rows(plan)[1][2] == "0.2 ml"


def test_the_earlier_version_is_kept_whole(plan, vet):
    case, compiled = plan.case, plan.compiled
    revise(plan, revision(weight_g=800), staff=vet, now=MORNING)

    (old,) = PlanVersion.objects.filter(plan=plan)
    assert (old.number, old.case, old.compiled) == (1, case, compiled)
    assert (old.replaced_by, old.because, plan.version) == (vet, "Weighed at the recheck.", 2)
    assert "0.16 ml" in old.changes[0]


def test_a_stopped_medicine_is_not_asked_for_any_more(plan, vet):
    report(plan, 1, now=at("10:05", day=1))
    revise(plan, revision(keeps={}, because="Loose droppings."), staff=vet, now=MORNING)
    assert [number for number, _, _ in rows(plan)] == [1]
    assert "meloxicam: stop. Give no more of it." in told(plan)[0]

    tick(now=at("10:00", day=2), choose=Post())
    assert not plan.messages.filter(purpose=Message.Purpose.DOSE, due_at__gt=MORNING).exists()


def test_a_dose_that_is_open_ends_with_its_medicine(plan, vet):
    tick(now=at("10:00", day=1), choose=Post())
    revise(plan, revision(keeps={}), staff=vet, now=at("10:30", day=1))
    assert rows(plan) == []
    assert "meloxicam: stop. Give no more of it." in told(plan)[0]


def test_a_reminder_that_was_overtaken_never_goes_out(plan, vet):
    """Asked at 10:00 while nothing could be sent; the vet changes the dose at 10:05, before it went."""
    due = at("10:00", day=2)
    ask_what_is_due(now=due)
    (waiting,) = plan.messages.filter(state=Message.State.READY, doses__number=2)
    assert "0.18 ml" in waiting.body

    changed = meloxicam(mg_per_kg=0.2)
    revise(plan, revision(keeps={}, medicines=(changed,)), staff=vet, now=due)
    post = Post()
    tick(now=at("10:05", day=2), choose=post)

    waiting.refresh_from_db()
    assert waiting.state == Message.State.SUPERSEDED
    assert not any("0.18 ml" in letter.body and "Time for medicine" in letter.body for letter in post.letters)
    assert rows(plan)[-1] == (3, "13 10:00", "0.36 ml")  # he may have given it by the sheet


def test_a_dose_that_was_asked_for_can_still_be_told_of_after_a_change(plan, vet):
    tick(now=at("10:00", day=2), choose=Post())
    revise(plan, revision(keeps={}, medicines=(meloxicam(mg_per_kg=0.2),)), staff=vet, now=at("10:05", day=2))
    assert report(plan, 2, now=at("10:10", day=2)).pk
    assert plan.doses.get(number=2).outcome == DoseOutcome.GIVEN


def test_what_a_message_asked_besides_is_asked_again_in_true_words(plan, vet):
    check_in = plan.check_ins.get(day=1, kind="waking")
    dose = plan.doses.get(number=2)
    Dose.objects.filter(pk=dose.pk).update(at=at("07:45", day=2), not_before=at("07:00", day=2))
    waking = plan.check_ins.get(day=2, kind="waking")
    ask_what_is_due(now=waking.at)
    (both,) = plan.messages.filter(doses=dose, state=Message.State.READY)
    assert waking in both.check_ins.all()

    revise(plan, revision(keeps={}), staff=vet, now=waking.at)
    both.refresh_from_db()
    waking.refresh_from_db()
    assert (both.state, waking.state) == (Message.State.SUPERSEDED, CheckIn.State.PLANNED)
    assert check_in.state == CheckIn.State.PLANNED
    post = Post()
    tick(now=waking.at, choose=post)
    waking.refresh_from_db()
    assert waking.state == CheckIn.State.ASKED
    assert "How is Pip?" in [letter.subject for letter in post.letters]


def test_two_changes_before_the_first_was_sent_are_told_as_one(plan, vet):
    revise(plan, revision(weight_g=800), staff=vet, now=MORNING)
    revise(plan, revision(weight_g=760, version=2), staff=vet, now=MORNING)
    (body,) = told(plan)
    assert "0.15 ml from now on, no longer 0.18 ml. Next dose tomorrow at 10:00, 1 dose to come" in body


def test_a_dose_that_ended_open_with_a_change_never_comes_back_with_the_next(plan, vet):
    """Nobody asked for the dose of 10:00 before the change at 12:00: by the sheet on paper it may have been given."""
    revise(plan, revision(weight_g=800), staff=vet, now=MORNING)
    assert rows(plan) == [(2, "12 10:00", "0.16 ml")]
    revise(plan, revision(weight_g=760, version=2), staff=vet, now=MORNING)
    assert rows(plan) == [(2, "12 10:00", "0.15 ml")]
    assert plan.doses.get(number=1).state == Dose.State.ENDED
    shown = [(each.when, each.known) for each in emergency_sheet(plan, now=MORNING).given]
    assert ("Tue 11 Mar 10:00", "not told: may have been given") in shown


def test_nothing_that_concerns_the_owner_is_not_told(plan, vet):
    revise(plan, revision(weight_g=901), staff=vet, now=MORNING)
    assert told(plan) == []
    assert plan.version == 2


def test_what_was_told_of_a_dose_stays(plan, vet):
    dose = report(plan, 1, now=at("10:05", day=1))
    revise(plan, revision(keeps={}, medicines=(meloxicam(mg_per_kg=0.2),)), staff=vet, now=MORNING)

    dose.refresh_from_db()
    assert (dose.state, dose.outcome) == (Dose.State.REPORTED, DoseOutcome.GIVEN)
    assert rows(plan)[1] == (2, "12 10:00", "0.36 ml")


def test_a_longer_course_is_refused_to_nobody_but_needs_a_vet(plan, vet):
    nurse = staff(plan.practice, Role.NURSE)
    longer = revision(keeps={"meloxicam": 4})
    assert [each.path for each in rehearse_revision(plan, longer, now=MORNING).problems] != []
    with pytest.raises(NotYours):
        revise(plan, longer, staff=nurse, now=MORNING)
    revise(plan, longer, staff=vet, now=MORNING)
    assert [number for number, _, _ in rows(plan)] == [1, 2, 3, 4, 5]


def test_a_nurse_may_weigh_anew(plan):
    revise(plan, revision(weight_g=880), staff=staff(plan.practice, Role.NURSE), now=MORNING)
    with pytest.raises(NotYours):
        revise(plan, revision(weight_g=880, version=2), staff=staff(plan.practice, Role.FRONT_DESK), now=MORNING)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"because": "  "}, "because"),
        ({"version": 7}, ""),
        ({"medicines": ({"drug": "meloxicam", "every_hours": 24, "days": 1},)}, "$.home_medication[0].mg_per_kg"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_changes_nothing(plan, vet, changes, field):
    with pytest.raises(FollowUpError) as refused:
        revise(plan, revision(**changes), staff=vet, now=MORNING)
    assert refused.value.field == field
    plan.refresh_from_db()
    assert (plan.version, rows(plan)[1][2]) == (1, "0.18 ml")


def test_a_refused_medicine_changes_nothing(plan, vet):
    amoxicillin = meloxicam(drug="amoxicillin", mg_per_kg=10, mg_per_ml=50)
    with pytest.raises(PlanRefused, match="Nothing was changed"):
        revise(plan, revision(medicines=(amoxicillin,)), staff=vet, now=MORNING)
    assert rows(plan)[1][2] == "0.18 ml"


def test_a_plan_that_does_not_run_or_is_in_a_clinic_is_not_revised(plan, vet):
    Plan.objects.update(paused=Plan.Pause.IN_HOSPITAL)
    plan.refresh_from_db()
    with pytest.raises(CannotBeRevised, match="in a clinic"):
        revise(plan, revision(weight_g=800), staff=vet, now=MORNING)


def test_a_check_in_that_a_call_has_dropped_does_not_come_back(plan, vet):
    evening = plan.check_ins.get(day=1, kind="evening")
    said = together({"appetite": ["normal"]})
    take_reply(plan, Incoming("call", said), author=vet, now=at("14:00", day=1))
    evening.refresh_from_db()
    assert evening.state == CheckIn.State.CANCELLED
    revise(plan, revision(weight_g=800), staff=vet, now=at("14:05", day=1))
    assert not plan.check_ins.filter(day=1, kind="evening").exclude(state=CheckIn.State.CANCELLED).exists()
