"""What an owner's list says first: an emergency that stands, a death, a dose whose day is past."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.models import Plan
from followup.services.died import record_death
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from tests.owner_world import EVENING, move_clock, pip_at_home
from tests.world import at

pytestmark = pytest.mark.django_db
NEEDS_A_VET = "Pip needs a vet now"


@pytest.fixture
def home():
    move_clock(EVENING)
    return pip_at_home()


def page(client, home) -> str:
    return str(client.get(home.home).content.decode())


def test_an_emergency_is_said_again_when_the_list_is_opened(client, home):
    assert NEEDS_A_VET not in page(client, home)

    told = Incoming("one", together({"demeanour": ["collapsed"]}))
    take_reply(home.plan, told, author=home.recipient, now=EVENING)

    assert NEEDS_A_VET in page(client, home)


def test_after_a_death_it_is_sorry_and_warns_of_nothing(client, home):
    record_death(home.patient, said_by="Ada Field", now=EVENING)

    shown = page(client, home)

    assert "We are very sorry" in shown
    assert "Nothing more will be sent about Pip" in shown
    assert "has ended" not in shown
    assert "Bleeding that drips" not in shown
    assert "tel:" in shown


def test_a_dose_of_a_day_that_is_past_has_its_date(client, home):
    """“On Tuesday”, read on Wednesday, would be the next one."""
    dose = home.plan.doses.earliest("at")
    move_clock(dose.at + dt.timedelta(days=1))

    assert f"on {dose.at:%A} 11 March at 10:00" in page(client, home)
    assert dose.at == at("10:00", day=1)


def test_while_he_is_in_a_clinic_no_medicine_is_asked_for(client, home):
    dose = home.plan.doses.earliest("at")
    move_clock(dose.at)
    assert "Say what became of it" in page(client, home)
    Plan.objects.update(paused=Plan.Pause.IN_HOSPITAL, admitted_at=dose.at)
    assert "Say what became of it" not in page(client, home)
    assert "We ask nothing at the moment." in page(client, home)
