"""Stopping messages: by a page that a look does not change, by a mail program's own button, and by telephone."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Consent, Role
from followup.models import Recipient
from tests import world
from tests.owner_world import GOOD, Home, answer, move_clock, pip_at_home
from tests.pages import text_of
from tests.services.post import EVENING

pytestmark = pytest.mark.django_db

ONE_CLICK = {"List-Unsubscribe": "One-Click"}
EMERGENCY_LINE = "Bleeding that drips, trouble breathing, or lying flat: phone at once."


@pytest.fixture
def home() -> Home:
    made = pip_at_home()
    move_clock(EVENING)
    return made


def stopped(home: Home) -> str:
    row = Recipient.objects.get(pk=home.recipient.pk)
    return row.stopped_how if row.stopped_at is not None else ""


def test_looking_changes_nothing_and_says_what_a_stop_means(home):
    page = Client().get(f"{home.home}stop/")

    assert page.status_code == 200
    assert (page["Cache-Control"], page["Referrer-Policy"]) == ("no-store", "no-referrer")
    assert "When it is time to ask how it goes, we phone you." in text_of(page)
    assert "If what you tell us is a bad sign, we still phone you." in text_of(page)
    assert EMERGENCY_LINE in text_of(page)
    assert stopped(home) == ""
    assert f'href="{home.home}stop/"' in text_of(Client().get(home.home))


def test_a_button_stops_and_another_begins_again_without_a_cookie(home):
    owner = Client(enforce_csrf_checks=True)
    answered = owner.post(f"{home.home}stop/", {"step": "stop"})

    assert (answered.status_code, answered["Location"]) == (302, f"{home.home}stop/")
    assert stopped(home) == "link"
    assert not owner.cookies
    assert EMERGENCY_LINE in text_of(owner.get(f"{home.home}stop/"))
    assert "You get no messages: we phone you instead." in text_of(owner.get(home.home))

    owner.post(f"{home.home}stop/", {"step": "start"})
    assert stopped(home) == ""
    given = Consent.objects.filter(owner=home.owner, kind="to_be_contacted").order_by("pk")
    assert [each.given for each in given][-2:] == [False, True]


@pytest.mark.parametrize("how", ["application/x-www-form-urlencoded", "multipart/form-data"])
def test_a_mail_programs_own_button_stops_at_once_without_cookie_or_redirect(home, how):
    """RFC 8058, 3.1: either encoding of a form; the answer leads nowhere."""
    sender = Client(enforce_csrf_checks=True)
    if how == "multipart/form-data":
        answered = sender.post(f"{home.home}stop/", ONE_CLICK)
    else:
        answered = sender.post(f"{home.home}stop/", "List-Unsubscribe=One-Click", content_type=how)

    assert (answered.status_code, answered["Cache-Control"]) == (200, "no-store")
    assert stopped(home) == "one_click"
    assert not sender.cookies
    assert sender.post(f"{home.home}stop/", ONE_CLICK).status_code == 200  # sent twice is stopped once
    assert Consent.objects.filter(owner=home.owner, given=False).count() == 1


def test_a_post_that_says_nothing_stops_nothing(home):
    for body in ({}, {"step": "other"}, {"List-Unsubscribe": "yes"}):
        assert Client().post(f"{home.home}stop/", body).status_code == 302
    assert stopped(home) == ""


def test_a_wrong_code_stops_nobody(home):
    wrong = home.home[:-2] + ("A/" if home.home[-2] != "A" else "B/")

    assert Client().post(f"{wrong}stop/", ONE_CLICK).status_code == 404
    assert stopped(home) == ""


def test_after_a_stop_the_page_still_takes_answers(home):
    owner = Client()
    owner.post(f"{home.home}stop/", {"step": "stop"})

    answer(owner, home.home, home.plan, GOOD)

    assert home.plan.observations.filter(reply__recipient=home.recipient).exists()


def test_staff_write_down_a_stop_by_telephone_and_see_it_on_the_patients_page(home):
    desk = Client()
    desk.force_login(world.staff(home.practice, Role.FRONT_DESK))
    there = reverse("followup:recipient_messages", kwargs={"pk": home.recipient.pk})
    patient = reverse("followup:patient", kwargs={"pk": home.plan.pk})
    assert there in text_of(desk.get(patient))

    desk.post(there, {"step": "stop"})

    assert stopped(home) == "phone"
    assert Consent.objects.filter(owner=home.owner, given=False).get().recorded_by is not None
    assert "no messages: asked on 10 Mar 2025 18:30, told to staff" in text_of(desk.get(patient))
    assert "No messages: asked on Mon 10 Mar 2025 18:30, told to staff." in text_of(desk.get(there))

    desk.post(there, {"step": "start"})
    assert stopped(home) == ""
    assert "no messages: asked on" not in text_of(desk.get(patient))


def test_who_did_not_want_messages_at_enrolment_is_shown_so(home):
    Recipient.objects.filter(pk=home.recipient.pk).update(stopped_at=EVENING, stopped_how="enrolment")
    desk = Client()
    desk.force_login(home.vet)

    page = text_of(desk.get(reverse("followup:patient", kwargs={"pk": home.plan.pk})))

    assert "no messages: asked on 10 Mar 2025 18:30, at enrolment" in page
