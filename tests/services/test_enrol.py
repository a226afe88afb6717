"""A front desk enrols: one transaction, once, and nothing before a vet where a vet is needed."""

from __future__ import annotations

import dataclasses
import datetime as dt

import pytest

from clinic.models import Owner, Patient
from followup.models import Dose, Event, Message, Plan, Task
from followup.protocols.load import names
from followup.services.draft import NewOwner, NewPatient, PlanRefused
from followup.services.enrol import AlreadyEnrolled, enrol
from followup.services.links import path_of
from followup.services.register import AlreadyKnown
from followup.services.seed_protocols import seed_protocols
from tests import world
from tests.world import at

pytestmark = pytest.mark.django_db
HOME = at("16:30")


def enrolled(request, now=HOME):
    return enrol(request, staff=world.staff(request.practice, "front_desk"), now=now)


def test_a_guinea_pig_goes_home_with_two_doses_of_0_18_ml():
    """900 g at 0.1 mg/kg = 0.09 mg; at 0.5 mg/ml that is 0.18 ml."""
    plan = enrolled(world.recovery())

    assert plan.state == Plan.State.RUNNING
    doses = plan.doses.all()
    assert [(each.drug, each.amount, each.strength) for each in doses] == [("meloxicam", "0.18 ml", "0.5 mg/ml")] * 2
    assert doses[0].not_before == at("10:00", day=1)


def test_the_rabbit_s_volume_is_printed_from_its_own_strength():
    """2.4 kg at 0.6 mg/kg = 1.44 mg; at 1.5 mg/ml that is 0.96 ml."""
    plan = world.running_plan("rabbit")

    assert {each.amount for each in plan.doses.all()} == {"0.96 ml"}


def test_check_ins_and_reviews_are_written_down():
    plan = enrolled(world.recovery())

    assert plan.check_ins.filter(state="planned").count() == len(plan.compiled["check_ins"]) > 5
    assert [each.day for each in plan.wound_reviews.all()] == [3, 10]
    assert plan.verdicts.count() == 1


def test_the_first_message_waits_two_minutes():
    plan = enrolled(world.recovery())

    message = plan.messages.get(purpose=Message.Purpose.WELCOME)
    assert message.not_before == HOME + dt.timedelta(minutes=2)
    assert "starting today at 18:30" in message.body
    assert "{link}" in message.body


def test_the_owner_has_a_link():
    plan = enrolled(world.recovery())

    assert path_of(plan.patient.owner.recipients.get()).startswith("/o/elm-street/")


def test_without_a_prescription_nothing_is_printed_or_sent_before_a_vet():
    """Nobody prescribed: the protocol proposes, and a proposal needs a named vet."""
    request = world.recovery()
    del request.facts["home_medication"]

    plan = enrolled(request)

    assert plan.state == Plan.State.WAITING_FOR_VET
    assert not plan.doses.exists()
    assert not plan.check_ins.exists()
    assert not plan.messages.exists()
    assert "meloxicam is a proposal" in plan.tasks.get(kind=Task.Kind.CONFIRM_PLAN).text


def test_the_same_form_twice_enrols_once():
    request = world.recovery()

    first, second = enrolled(request), enrolled(request, HOME + dt.timedelta(seconds=1))

    assert first == second
    assert Plan.objects.count() == 1
    assert Message.objects.count() == 1
    assert Event.objects.filter(what="enrolled").count() == 1


def test_the_same_operation_from_another_form_is_refused_and_leads_to_the_plan():
    request = world.recovery()
    plan = enrolled(request)

    with pytest.raises(AlreadyEnrolled, match=r"Pip is enrolled already: castration on 10\.03\.2025") as refusal:
        enrolled(dataclasses.replace(request, key="another form"))

    assert refusal.value.plan == plan
    assert plan.patient.weights.count() == 1


def test_a_refused_plan_leaves_nothing_behind():
    """Ibuprofen is never given to these animals."""
    medicine = {"drug": "ibuprofen", "mg_per_kg": 5, "every_hours": 12, "days": 2, "mg_per_ml": 20}
    where = world.practice()
    request = dataclasses.replace(
        world.recovery(where=where, home_medication=[medicine]),
        owner=NewOwner("Kim Example", mobile="+447700900321"),
        patient=NewPatient("Bean", "guinea_pig"),
    )

    with pytest.raises(PlanRefused, match=r"^Not enrolled\. ibuprofen"):
        enrolled(request)

    assert not Owner.objects.filter(name="Kim Example").exists()
    assert not Plan.objects.exists()


def test_new_people_are_put_on_record_with_their_consents_and_weight():
    where = world.practice()
    request = dataclasses.replace(
        world.recovery(where=where),
        owner=NewOwner("Kim Example", mobile="+447700900321", wakes=dt.time(6)),
        patient=NewPatient("Bean", "guinea_pig", "male", dt.date(2024, 7, 1)),
        carer=NewOwner("Lee Example", email="lee@example.org"),
        consents={"to_be_contacted": True, "wake_me_at_night": False},
    )

    plan = enrolled(request)

    owner = plan.patient.owner
    assert (owner.name, owner.wakes) == ("Kim Example", dt.time(6))
    assert owner.agrees("to_be_contacted")
    assert not owner.agrees("wake_me_at_night")
    assert plan.patient.weights.get().grams == 900
    assert plan.case["owner_hours"]["wakes"] == "06:00"
    assert plan.case["patient"]["age_months"] == 8.3  # 252 days / 30.4375
    assert [(each.person.name, each.second) for each in plan.patient.carers.all()] == [("Lee Example", True)]


def test_an_owner_who_is_not_to_be_written_to_is_phoned():
    request = dataclasses.replace(world.recovery(), consents={"to_be_contacted": False})

    plan = enrolled(request)

    assert not plan.messages.exists()
    assert plan.tasks.get(kind=Task.Kind.PHONE).text.startswith("Phone Robin Example")


def test_a_second_patient_of_the_same_name_is_chosen_and_not_made_anew():
    request = world.recovery()

    with pytest.raises(AlreadyKnown, match="Choose it from the list"):
        enrolled(dataclasses.replace(request, patient=NewPatient("pip", "guinea_pig")))

    assert Patient.objects.count() == 1


def test_a_dose_whose_time_was_over_before_the_plan_began_is_never_asked_for():
    """Enrolled three days late: day 1 and 2 are over, and their silence is no sign."""
    plan = enrolled(world.recovery(), at("12:00", day=3))

    assert set(plan.doses.values_list("state", flat=True)) == {Dose.State.CANCELLED}
    assert not plan.check_ins.filter(state="planned", answer_by__lte=at("12:00", day=3)).exists()


def test_protocols_are_seeded_once():
    where = world.practice()

    assert seed_protocols(where, now=HOME) == 0
    assert set(where.protocol_versions.values_list("name", flat=True)) == set(names())
    assert where.events.get(what="protocols_added").text.count(", version 1") == len(names())
