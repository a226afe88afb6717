"""One page, every field; nothing typed is lost; what is wrong is said where it is wrong."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.clock import now as clock_now
from clinic.models import Owner, Role, Weight
from followup.models import Plan
from tests import world
from tests.pages import text_of
from tests.web.enrol_form import ADDRESS, at_field, client, filled, post, values
from tests.world import at

pytestmark = pytest.mark.django_db


def test_the_search_has_the_cursor_and_every_part_is_there():
    page = client().get(ADDRESS).content.decode()

    assert "autofocus" in page
    for legend in ("Owner", "Patient", "Operation", "Discharge card", "Given in the clinic", "Medicine at home"):
        assert f"<legend>{legend}</legend>" in page
    assert "errorlist" not in page


@pytest.mark.parametrize("words", ["robin", "07700 900777", "900777"])
def test_an_owner_is_found_by_name_or_phone(words):
    owner = world.owner(world.practice(), name="Robin Example", mobile="+447700900777")
    world.patient(owner)

    page = client().get(ADDRESS, {"q": words}).content.decode()

    assert "Robin Example" in page
    assert "Pip (guinea pig)" in page


def test_owners_of_another_practice_are_not_found():
    stranger = world.owner(world.practice("other-street"), name="Robin Example")

    assert "Nobody is on record" in client().get(ADDRESS, {"q": "robin"}).content.decode()
    assert client().get(ADDRESS, {"owner": stranger.pk}).status_code == 404


def test_searching_keeps_what_was_typed():
    world.owner(world.practice(), name="Robin Example")

    page = post(action="search", q="robin")

    assert page.status_code == 200
    assert values(page)["op-weight_g"] == "900"
    assert values(page)["given0-at"] == "2025-03-10T10:00"
    assert "errorlist" not in page.content.decode()


def test_enter_in_another_field_looks_at_the_plan():
    assert "The plan for Bean" in post(action="search", q="").content.decode()


def test_the_preview_shows_amounts_times_and_dates():
    """900 g at 0.1 mg/kg is 0.09 mg, 0.18 ml of 0.5 mg/ml; 42 days after 10 March is 21 April."""
    page = post().content.decode()

    assert "<strong>0.18 ml</strong> Tue 11 Mar" in page
    assert "meloxicam 0.5 mg/ml" in page
    assert "Day 3, Thu 13 Mar" in page
    assert "until Mon 21 Apr (day 42)" in page
    assert not Plan.objects.exists()
    assert not Owner.objects.exists()


def test_confirming_enrols_and_leads_to_the_sheet():
    page = post(action="confirm")

    plan = Plan.objects.get()
    assert page["Location"] == f"/plans/{plan.pk}/sheet/"
    assert plan.state == Plan.State.RUNNING
    assert plan.patient.owner.mobile == "+447700900321"
    assert plan.case["discharge"] == {"closure": "buried"}


def test_clock_times_are_the_practice_s_in_summer_too():
    """10:30 in London in July is 09:30 UTC."""
    post(
        action="confirm",
        op__surgery_ended_at="2025-07-10T10:30",
        op__discharged_at="2025-07-10T16:30",
        op__last_ate_before_discharge_at="2025-07-10T15:00",
        op__last_faeces_before_discharge_at="",
        given0__at="2025-07-10T10:00",
    )

    assert Plan.objects.get().surgery_ended_at == dt.datetime(2025, 7, 10, 9, 30, tzinfo=dt.UTC)


def test_a_draft_protocol_is_named_as_one_until_a_vet_approves_it():
    draft = "No vet of this practice has approved this protocol: it is a draft."
    assert draft in post().content.decode()
    where = world.practice()

    where.protocol_versions.update(approved_by=world.staff(where, Role.VET), approved_at=at("08:00"))

    assert draft not in post().content.decode()


def test_the_same_form_posted_twice_enrols_once():
    desk = client()

    first, second = (desk.post(ADDRESS, filled(action="confirm")) for _ in range(2))

    assert first["Location"] == second["Location"]
    assert Plan.objects.count() == 1


def test_the_preview_carries_everything_to_confirm_and_back():
    hidden = values(post())
    typed = {name: value for name, value in filled().items() if name not in {"consent-agrees", "action"}}

    assert {name: hidden.get(name) for name in typed} == typed

    back = values(client().post(ADDRESS, filled(action="change")))
    assert back["owner-name"] == "Kim Example"
    assert back["home0-mg_per_kg"] == "0.1"


def test_a_proposal_is_saved_for_a_vet():
    changes = {"medicines-home": "propose", "home0-drug": "", "home0-mg_per_kg": "", "home0-mg_per_ml": ""}

    assert "A vet must confirm" in client().post(ADDRESS, filled() | changes).content.decode()
    client().post(ADDRESS, filled() | changes | {"action": "confirm"})

    assert Plan.objects.get().state == Plan.State.WAITING_FOR_VET


def test_a_refused_medicine_can_be_changed_and_not_confirmed():
    page = post(home0__drug="ibuprofen")

    assert "a human painkiller that harms animals" in page.content.decode()
    assert 'value="confirm"' not in page.content.decode()
    assert post(home0__drug="ibuprofen", action="confirm").status_code == 422
    assert not Plan.objects.exists()


WRONG = [
    ("op-weight_g", "0.9", "0.9 g? If you mean 0.9 kg, write 900."),
    ("op-weight_g", "5000", "5000 g? A guinea pig weighs 250 to 1,600 g. If it is right, say so below."),
    ("op-weight_g", "heavy", "Write a number, without its unit: the field says which unit is meant."),
    ("op-weight_g", "", "Write the weight: doses and later changes are reckoned from it."),
    ("op-discharged_at", "2025-03-10T09:30", "This is before the end of surgery."),
    ("op-surgery_ended_at", "2999-03-10T10:30", "This is still to come: enrol when the operation is over."),
    ("op-surgery_ended_at", "", "Write the day and the time."),
    ("op-procedure", "", "Choose the procedure."),
    ("op-last_ate_before_discharge_at", "2025-03-10T17:30", "This is after the patient goes home."),
    ("owner-name", "", "This is needed."),
    ("owner-mobile", "12345", "12345 is not a phone number. Write it with its area code, or with + and the country."),
    (
        "owner-mobile",
        "call me",
        "call me is not a phone number. Write it with its area code, or with + and the country.",
    ),
    ("owner-email", "kim at home", "This is not an e-mail address."),
    ("owner-time_zone", "Narnia", "Narnia is not a time zone such as Europe/London."),
    ("owner-sleeps", "07:00", "This is the same as waking."),
    ("patient-name", "", "Write the patient&#x27;s name."),
    ("patient-species", "", "Choose the species."),
    ("given0-at", "", "Write when it was given."),
    ("given0-at", "2025-03-10T18:00", "This is after the patient goes home."),
    ("given0-drug", "", "Write which drug it was."),
    ("home0-mg_per_ml", "", "Write the strength on the bottle."),
    ("home0-prescribed_by", "", "Write which vet prescribed it."),
    ("home0-days", "two", "Write whole days."),
    ("home0-mg_per_kg", "-1", "Write a number above 0."),
    ("medicines-home", "none", "This does not fit with the drug that is written below."),
]
BOXES = (
    *("owner-name", "owner-mobile", "owner-email", "owner-time_zone", "owner-wakes", "owner-sleeps"),
    *("patient-name", "patient-born_on", "op-surgery_ended_at", "op-discharged_at", "op-weight_g"),
    *("given0-drug", "given0-mg_per_kg", "given0-at", "home0-drug", "home0-mg_per_kg", "home0-every_hours"),
    *("home0-days", "home0-mg_per_ml", "home0-prescribed_by", "key"),
)
"""Every box of text that the form was filled in with."""


@pytest.mark.parametrize(("field", "typed", "said"), WRONG)
def test_what_is_wrong_is_said_at_its_field_and_nothing_typed_is_lost(field, typed, said):
    page = client().post(ADDRESS, filled() | {field: typed})

    assert page.status_code == 422
    assert said in at_field(page, field)
    kept, whole = values(page), filled() | {field: typed}
    assert {name: kept.get(name, "") for name in BOXES} == {name: whole[name] for name in BOXES}
    assert not Plan.objects.exists()


def test_a_landline_belongs_under_landline():
    page = post(owner__mobile="020 7946 0018")

    assert at_field(page, "owner-mobile") == [
        "020 7946 0018 is a landline: write it under landline. It gets calls, not texts."
    ]


def test_a_weight_that_is_right_is_ticked_and_only_that_weight():
    page = post(op__weight_g="1700")

    assert '<input type="checkbox" name="op-right" id="id_op-right" value="1700">' in page.content.decode()
    assert "The plan for Bean" in post(op__weight_g="1700", op__right="1700").content.decode()
    assert post(op__weight_g="1800", op__right="1700").status_code == 422


def test_a_weight_in_kilograms_cannot_be_ticked_as_right():
    assert 'name="op-right" id="id_op-right" value=' not in post(op__weight_g="0.9").content.decode()
    assert post(op__weight_g="0.9", op__right="0.9").status_code == 422


def test_a_discharge_before_surgery_is_said_once():
    page = post(op__discharged_at="2025-03-10T09:30")

    assert at_field(page, "op-discharged_at") == ["This is before the end of surgery."]
    assert at_field(page, "op-last_ate_before_discharge_at") == []
    assert at_field(page, "given0-at") == []


def test_a_new_owner_with_a_known_mobile_is_asked_about():
    world.owner(world.practice(), name="Robin Example", mobile="+447700900321")

    assert "Robin Example is on record with the same mobile." in post().content.decode()


def test_an_owner_who_did_not_agree_to_be_written_to_is_named_before():
    assert "check-ins become calls from the desk" in post(consent__agrees=["photos"]).content.decode()


def test_a_weight_far_off_the_last_one_is_asked_about():
    """1,300 g is 1.6 times 800 g."""
    owner = world.owner(world.practice())
    pip = world.patient(owner)
    Weight.objects.create(patient=pip, grams=800, at=at("09:00", day=-30))

    page = post(owner=owner.pk, patient__chosen=pip.pk, op__weight_g="1300")

    assert at_field(page, "op-weight_g") == ["1300 g? The last weight was 800 g. If it is right, say so below."]
    assert "800 g" in client().get(ADDRESS, {"owner": owner.pk}).content.decode()


def test_a_patient_enrolled_for_the_same_operation_leads_to_its_plan():
    plan = world.running_plan()
    again = {"owner": plan.patient.owner_id, "patient__chosen": plan.patient_id}

    page = post(**again).content.decode()

    assert "Pip is enrolled already: castration on 10 March 2025." in page
    assert f'href="/plans/{plan.pk}/sheet/"' in page
    assert Plan.objects.count() == 1


def test_the_shipped_case_of_an_owner_on_record():
    owner = world.owner(world.practice())
    pip = world.patient(owner)

    post(owner=owner.pk, patient__chosen=pip.pk, patient__name="", patient__species="", action="confirm")

    assert Plan.objects.get().patient == pip
    assert Plan.objects.get().enrolled_at <= clock_now()


@pytest.mark.parametrize(("role", "status"), [(Role.ADMINISTRATOR, 403), (Role.NURSE, 200), (Role.VET, 200)])
def test_who_enrols(role, status):
    assert client(role).get(ADDRESS).status_code == status


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"home0__mg_per_ml": "0.05"}, "0.05 mg/ml is not a usual strength"),  # per cent, typed as mg/ml
        ({"home0__mg_per_ml": "5"}, "5 mg/ml is not a usual strength"),  # the injection's
        ({"home0__mg_per_kg": "100"}, "More than 10 times the usual 0.1 mg/kg"),  # micrograms, typed as mg
    ],
)
def test_what_looks_like_another_unit_is_asked_about_before_anything_is_made_and_nothing_is_converted(changes, said):
    shown = text_of(post(**changes))
    assert said in shown
    assert "check the unit: mg or microgram, per cent or mg/ml, lb or kg" in shown
    assert not Plan.objects.exists()
