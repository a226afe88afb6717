"""Two animals of one owner with medicine at the same time: whose page it is, and the way to the other."""

from __future__ import annotations

import pytest
from django.test import Client

from clinic.models import Patient
from followup.models import Plan
from tests import world
from tests.owner_world import EVENING, move_clock, pip_at_home
from tests.pages import text_of

pytestmark = pytest.mark.django_db


def due_now(plan: Plan) -> int:
    dose = plan.doses.filter(state="planned").earliest("at")
    plan.doses.filter(pk=dose.pk).update(at=EVENING)
    return int(dose.pk)


def test_each_page_says_whose_it_is_and_leads_to_the_other():
    move_clock(EVENING)
    home = pip_at_home()
    rabbit = world.running_plan("rabbit", where=home.practice, of=home.owner)
    Patient.objects.filter(pk=rabbit.patient_id).update(name="Clover")
    mine, other = due_now(home.plan), due_now(rabbit)

    page = text_of(Client().get(f"{home.home}dose/{home.plan.pk}/{mine}/"))

    assert '<span class="owner-who">Pip</span>' in page
    assert "Which one did you give?" in page
    assert f'href="{home.home}dose/{rabbit.pk}/{other}/"><strong>Clover</strong>' in page


def test_alone_nothing_is_asked():
    move_clock(EVENING)
    home = pip_at_home()

    assert "Which one did you give?" not in text_of(
        Client().get(f"{home.home}dose/{home.plan.pk}/{due_now(home.plan)}/")
    )
