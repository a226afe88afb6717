"""The first message's fate where the owner still stands: on the sheet, on the patient's page, and by itself."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Owner, Role
from followup.messaging.channel import Outcome, Sent
from followup.models import Message, Plan
from followup.services.dispatch import send_due
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.services.post import Post
from tests.world import at

pytestmark = pytest.mark.django_db
ENROLLED, SENT = at("16:30"), at("16:32")


@pytest.fixture
def plan() -> Plan:
    move_clock(ENROLLED)
    return world.running_plan(of=world.owner(world.practice(), name="Robin Example", mobile=""))


@pytest.fixture
def desk(plan) -> Client:
    visitor = Client()
    visitor.force_login(world.staff(plan.practice, Role.FRONT_DESK))
    return visitor


def address(name: str, plan: Plan) -> str:
    return reverse(f"followup:{name}", kwargs={"pk": plan.pk})


def sent(answer: Sent) -> None:
    send_due(now=SENT, choose=Post(answer), audience=Message.Audience.OWNER)
    move_clock(SENT)


@pytest.mark.parametrize("name", ["sheet", "patient", "first_message"])
def test_it_waits_and_says_until_when(desk, plan, name):
    page = text_of(desk.get(address(name, plan)))

    assert "<strong>Robin Example:</strong> waits until 16:32, so that the enrolment can be taken back" in page
    assert '<a href="">Look again</a>' in page
    assert "data-settled" not in page


@pytest.mark.parametrize("name", ["sheet", "patient"])
def test_a_page_that_waits_looks_again_by_itself_and_stops_when_nothing_can_change(desk, plan, name):
    page = text_of(desk.get(address(name, plan)))
    assert "followup/first_message.js" in page
    assert f'data-from="{address("first_message", plan)}"' in page

    sent(Sent(Outcome.OK))
    page = text_of(desk.get(address(name, plan)))

    assert "sent by e-mail at 16:32" in page
    assert "first_message.js" not in page
    assert "Look again" not in page


def test_by_itself_it_is_a_piece_of_a_page_that_nothing_keeps(desk, plan):
    sent(Sent(Outcome.OK))
    answer = desk.get(address("first_message", plan))

    assert "<html" not in answer.content.decode()
    assert "data-settled" in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]


def test_an_address_that_is_refused_leads_to_where_it_is_put_right(desk, plan):
    sent(Sent(Outcome.PERMANENT, "the mail server answered 550"))
    mend = reverse("followup:owner_address", kwargs={"pk": plan.patient.owner_id})

    page = text_of(desk.get(address("sheet", plan)))
    assert "could not be sent by e-mail: the mail server answered 550." in page
    assert f'<a href="{mend}">put the address right</a>' in page

    saved = desk.post(mend, {"email": "right@example.org", "mobile": "", "landline": ""}, follow=True)
    assert "By e-mail: the mail server answered 550." in text_of(saved)
    assert "on its way by e-mail" in text_of(saved)


def test_a_slip_is_said_at_its_field_and_nothing_typed_is_lost(desk, plan):
    mend = reverse("followup:owner_address", kwargs={"pk": plan.patient.owner_id})

    page = text_of(desk.post(mend, {"email": "robin at home", "mobile": "12", "landline": ""}))

    assert "This is not an e-mail address." in page
    assert "12 is not a phone number." in page
    assert 'value="robin at home"' in page
    assert Owner.objects.get(pk=plan.patient.owner_id).email != "robin at home"


def test_nobody_to_write_to_and_no_number_is_refused_at_its_field(desk, plan):
    mend = reverse("followup:owner_address", kwargs={"pk": plan.patient.owner_id})

    answer = desk.post(mend, {"email": "", "mobile": "", "landline": ""})

    assert answer.status_code == 422
    assert "there is no way to reach them" in text_of(answer)


def test_a_line_break_in_an_address_is_refused(desk, plan):
    mend = reverse("followup:owner_address", kwargs={"pk": plan.patient.owner_id})

    answer = desk.post(mend, {"email": "a@example.org\r\nBcc: b@example.org", "mobile": "", "landline": ""})

    assert answer.status_code == 422
    assert "Bcc" not in Owner.objects.get(pk=plan.patient.owner_id).email


def test_words_of_a_provider_are_shown_as_words(desk, plan):
    sent(Sent(Outcome.PERMANENT, "<script>no</script>"))

    assert "&lt;script&gt;no" in desk.get(address("first_message", plan)).content.decode()


def test_a_day_later_it_is_not_shown_any_more(desk, plan):
    sent(Sent(Outcome.OK))
    move_clock(SENT + dt.timedelta(hours=25))

    assert "First message" not in text_of(desk.get(address("patient", plan)))
