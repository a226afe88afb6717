"""Whatever is missing, impossible or improbable is asked at its field; what was typed stays as it was typed."""

from __future__ import annotations

import datetime as dt

import pytest
from django.http import QueryDict

from clinic.models import Weight
from followup.domain.terms import FollowUpError
from followup.forms.enrolment import Enrolment
from followup.services.draft import NewOwner, NewPatient
from tests import world
from tests.forms.typed import EMPTY_MEDICINE, posted
from tests.world import at

pytestmark = pytest.mark.django_db
NOW = at("16:30")
UNSEEN = {"op__last_ate_before_discharge_at": "", "op__last_faeces_before_discharge_at": ""}


def page(owner=None, **changes):
    return Enrolment(world.practice(), posted(**changes), owner=owner, checked=True)


def wrong(shown):
    """Each field with an error, by its name on the page, and the first sentence there."""
    return {form.add_prefix(name): said[0] for form in shown.forms() for name, said in form.errors.items()}


def test_everything_typed_well_is_a_recovery():
    shown = page()

    assert shown.is_valid(NOW), wrong(shown)
    found = shown.recovery("form 1")
    assert found.owner == NewOwner("Kim Example", mobile="+447700900321", time_zone="Europe/London")
    assert found.patient == NewPatient("Bean", "guinea_pig", "male", dt.date(2024, 7, 10))
    assert found.facts["patient"] == {"weight_g": 900}
    assert found.facts["discharge"] == {"closure": "buried"}
    assert dt.datetime.fromisoformat(str(found.facts["surgery_ended_at"])) == at("10:30")
    assert found.consents == {
        "to_be_contacted": True,
        "photos": True,
        "off_label_use": False,
        "wake_me_at_night": False,
    }
    assert found.carer is None


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"op__weight_g": "0.9"}, "op-weight_g", "0.9 g? If you mean 0.9 kg, write 900."),
        ({"op__weight_g": "9000"}, "op-weight_g", "9000 g? A guinea pig weighs 250 to 1,600 g."),
        ({"op__weight_g": "heavy"}, "op-weight_g", "Write a number, without its unit"),
        ({"op__weight_g": "-900"}, "op-weight_g", "Write a number above 0."),
        ({"op__weight_g": "nan"}, "op-weight_g", "Write a number, without its unit"),
        ({"op__weight_g": ""}, "op-weight_g", "Write the weight"),
        ({"op__discharged_at": "2025-03-10T10:15", **UNSEEN}, "op-discharged_at", "This is before the end of surgery."),
        ({"op__discharged_at": "tomorrow"}, "op-discharged_at", "Write a day and a time."),
        (
            {"op__surgery_ended_at": "2025-03-10T17:30", "op__discharged_at": "2025-03-10T18:00"},
            "op-surgery_ended_at",
            "This is still to come",
        ),
        ({"op__discharged_at": "2025-04-10T16:30"}, "op-discharged_at", "This is more than 7 days ahead."),
        ({"op__last_ate_before_discharge_at": "2025-03-10T17:00"}, "op-last_ate_before_discharge_at", "This is after"),
        ({"op__procedure": ""}, "op-procedure", "Choose the procedure."),
        ({"owner__mobile": "carrot"}, "owner-mobile", "carrot is not a phone number."),
        ({"owner__mobile": "0123"}, "owner-mobile", "0123 is not a phone number."),
        ({"owner__mobile": "01632 960123"}, "owner-mobile", "01632 960123 is a landline"),
        ({"owner__mobile": ""}, "owner-mobile", "Write a mobile, an e-mail address or a landline"),
        ({"owner__email": "kim at home"}, "owner-email", "This is not an e-mail address."),
        ({"owner__time_zone": "Narnia/Lamp"}, "owner-time_zone", "Narnia/Lamp is not a time zone"),
        ({"owner__sleeps": "07:00"}, "owner-sleeps", "This is the same as waking."),
        ({"carer__name": "Lee"}, "carer-mobile", "Write a mobile or an e-mail address of the carer."),
        ({"patient__name": ""}, "patient-name", "Write the patient's name."),
        ({"patient__species": ""}, "patient-species", "Choose the species."),
        ({"given0__at": ""}, "given0-at", "Write when it was given."),
        ({"given0__at": "2025-03-10T18:00"}, "given0-at", "This is after the patient goes home."),
        ({"medicines__given": "nothing"}, "medicines-given", "This does not fit"),
        ({"medicines__home": "none"}, "medicines-home", "This does not fit"),
        ({"given0__drug": "", "given0__at": "", "given0__mg_per_kg": ""}, "medicines-given", "Write what was given"),
        ({"home0__mg_per_ml": ""}, "home0-mg_per_ml", "Write the strength on the bottle."),
        ({"home0__prescribed_by": ""}, "home0-prescribed_by", "Write which vet prescribed it."),
        ({"home0__days": "two"}, "home0-days", "Write whole days."),
        ({"op__weight_g": "2 lb"}, "op-weight_g", "Write a number, without its unit"),
        ({"op__weight_g": "1.98"}, "op-weight_g", "1.98 g? A guinea pig weighs"),  # pounds, typed as if they were grams
        ({"home0__mg_per_kg": "100 µg"}, "home0-mg_per_kg", "Write a number, without its unit"),
        ({"home0__mg_per_ml": "0.05 %"}, "home0-mg_per_ml", "Write a number, without its unit"),
        ({"home0__form": "tablet"}, "home0-mg_per_tablet", "Write the mg in one tablet."),
    ],
)
def test_each_slip_is_asked_about_at_its_field_and_nowhere_else(changes, field, sentence):
    shown = page(**changes)

    assert not shown.is_valid(NOW)
    assert {key: said[: len(sentence)] for key, said in wrong(shown).items()} == {field: sentence}


def test_a_weight_is_never_converted_and_stays_as_it_was_typed():
    shown = page(op__weight_g="0.9")

    shown.is_valid(NOW)

    assert shown.operation["weight_g"].value() == "0.9"


def test_an_odd_weight_goes_through_once_it_was_said_to_be_right():
    """1,700 g is above 1,600 g, and there are such guinea pigs."""
    assert page(op__weight_g="1700", op__right="1700").is_valid(NOW)


def test_a_yes_to_one_odd_weight_is_no_yes_to_another():
    assert not page(op__weight_g="1800", op__right="1700").is_valid(NOW)


def test_a_weight_far_off_the_last_one_is_asked_about():
    """900 / 590 = 1.53, above 1.5."""
    pip = world.patient(world.owner(world.practice()))
    Weight.objects.create(patient=pip, grams=590, at=at("09:00", day=-30))
    known = {"patient__chosen": str(pip.pk), "patient__name": "", "patient__species": ""}

    shown = page(pip.owner, **known)

    assert not shown.is_valid(NOW)
    assert wrong(shown) == {
        "op-weight_g": "900 g? The last weight was 590 g. If it is right, say so below.",
    }


def test_of_an_owner_on_record_the_patient_is_chosen():
    pip = world.patient(world.owner(world.practice()))

    assert wrong_of(page(pip.owner, patient__chosen=None, patient__name="")) == {
        "patient-chosen": "Choose the patient."
    }
    shown = page(pip.owner, patient__chosen=str(pip.pk), patient__name="", patient__species="")
    assert shown.is_valid(NOW)
    assert shown.recovery("form 1").patient == pip


def wrong_of(shown):
    shown.is_valid(NOW)
    return wrong(shown)


def test_another_owner_s_patient_cannot_be_chosen():
    stranger = world.patient(world.owner(world.practice("oak-lane")))

    assert "patient-chosen" in wrong_of(page(world.owner(world.practice()), patient__chosen=str(stranger.pk)))


@pytest.mark.parametrize(("said", "facts"), [("unknown", None), ("nothing", [])])
def test_not_known_and_nothing_are_two_answers(said, facts):
    """Unknown: 24 h after surgery, and a vet. Nothing: the first dose this evening."""
    empty = {"given0__drug": "", "given0__mg_per_kg": "", "given0__at": "", "medicines__given": said}
    shown = page(**empty)

    assert shown.is_valid(NOW), wrong(shown)
    assert shown.recovery("form 1").facts.get("given_in_clinic") == facts


@pytest.mark.parametrize(("said", "facts"), [("propose", None), ("none", [])])
def test_a_proposal_and_no_medicine_are_two_answers(said, facts):
    shown = page(medicines__home=said, **dict.fromkeys(EMPTY_MEDICINE, ""))

    assert shown.is_valid(NOW), wrong(shown)
    assert shown.recovery("form 1").facts.get("home_medication") == facts


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("$.home_medication[0].mg_per_kg", "home0-mg_per_kg"),
        ("$.given_in_clinic[0].at", "given0-at"),
        ("$.patient.weight_g", "op-weight_g"),
        ("$.discharge.temperature_c", "card-temperature_c"),
        ("procedure", "op-procedure"),
        ("patient.name", "patient-name"),
    ],
)
def test_a_refusal_stands_at_its_field(path, field):
    shown = page()
    shown.is_valid(NOW)

    shown.place(FollowUpError("This is refused.", field=path))

    assert wrong(shown) == {field: "This is refused."}
    assert shown.faults == []


def test_a_refusal_without_a_field_stands_at_the_top():
    shown = page()
    shown.is_valid(NOW)

    shown.place(FollowUpError("Not now."))

    assert wrong(shown) == {}
    assert shown.faults == ["Not now."]


def test_what_was_typed_is_shown_again_when_an_owner_is_chosen():
    """Choosing an owner reloads the page: nothing typed so far is judged, and nothing is lost."""
    shown = Enrolment(world.practice(), posted(op__weight_g="0.9"), owner=None, checked=False)

    assert shown.operation["weight_g"].value() == "0.9"
    assert shown.consents["agrees"].value() == ["to_be_contacted", "photos"]
    assert not shown.operation.errors


def test_a_fresh_page_has_the_practice_s_clock_and_no_errors():
    shown = Enrolment(world.practice(), QueryDict(), owner=None, checked=False)

    assert shown.new_owner["time_zone"].value() == "Europe/London"
    assert not any(form.errors for form in shown.forms())
