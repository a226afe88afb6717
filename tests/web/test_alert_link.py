"""An alert's link: one flag, one person, a day. Looking changes nothing; a button says that somebody has it."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client

from clinic.models import Membership, Role, Staff
from followup.domain.terms import Level
from followup.models import Event, Flag, Message, Plan
from followup.services.alert_links import alert_code
from followup.services.tick import tick
from tests import world
from tests.owner_world import move_clock
from tests.services.post import Post

BEGAN = world.at("19:00")

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan() -> Plan:
    made = world.running_plan()
    world.on_call(made.practice, world.staff(made.practice))
    move_clock(BEGAN)
    return made


@pytest.fixture
def vet(plan: Plan) -> Staff:
    return world.staff(plan.practice)


@pytest.fixture
def flag(plan: Plan) -> Flag:
    return plan.flags.create(
        practice=plan.practice,
        concern="eating",
        level=Level.EMERGENCY,
        worst=Level.EMERGENCY,
        because="no food for 13 h",
        owner_told="Phone a vet now",
        opened_at=BEGAN,
        raised_at=BEGAN,
        updated_at=BEGAN,
        round_began_at=BEGAN,
        next_alert_at=BEGAN,
    )


@pytest.fixture
def link(flag: Flag, vet: Staff) -> str:
    """As the vet finds it in the alert."""
    post = Post()
    tick(now=BEGAN, choose=post)
    (body,) = [letter.body for letter in post.letters if letter.to == vet.email]
    return "/a/" + body.split("/a/")[1].split()[0]


def test_it_shows_who_what_the_owners_number_and_what_he_was_told(client, link, plan):
    page = client.get(link).content.decode()

    for words in (
        "Pip",
        "guinea pig",
        "No food for 13 h",
        plan.patient.owner.name,
        "tel:+447700900",
        "Phone a vet now",
    ):
        assert words in page
    assert "I have it" in page


def test_looking_changes_nothing(client, link, flag):
    before = Flag.objects.values().get(pk=flag.pk), Event.objects.count(), Message.objects.count()

    for visit in (client.get, client.head):
        answer = visit(link)
        assert (answer.status_code, answer["Cache-Control"], answer["Referrer-Policy"]) == (
            200,
            "no-store",
            "no-referrer",
        )

    assert (Flag.objects.values().get(pk=flag.pk), Event.objects.count(), Message.objects.count()) == before


def test_the_button_takes_it_and_then_the_outcome_is_asked_and_kept(client, link, flag, vet):
    assert client.post(link).status_code == 302
    flag.refresh_from_db()
    assert flag.acknowledged_by == vet
    page = client.get(link).content.decode()
    assert [words in page for words in ("spoken to", "sent to a vet", "could not reach, twice", "false alarm")] == [
        True
    ] * 4

    client.post(link, {"outcome": "sent_to", "note": "the night vets"})

    flag.refresh_from_db()
    assert (flag.outcome, flag.outcome_note, flag.next_alert_at) == ("sent_to", "the night vets", None)


def test_a_browser_that_keeps_no_cookies_and_tells_no_origin_can_press_it(link, flag, vet):
    """Chromium sends `Origin: null` from a page under `no-referrer`, seen in one; mail programs may keep no cookies."""
    answer = Client(enforce_csrf_checks=True).post(link, headers={"origin": "null"})

    assert answer.status_code == 302
    flag.refresh_from_db()
    assert flag.acknowledged_by == vet


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"outcome": "false_alarm", "note": " "}, "why it was a false alarm"),
        ({"outcome": "nonsense", "note": "kept <words>"}, "Say what came of it"),
    ],
)
def test_half_an_outcome_is_asked_again_and_nothing_typed_is_lost(client, link, flag, given, said):
    client.post(link)

    answer = client.post(link, given)

    page = answer.content.decode()
    assert said in page
    assert ("kept &lt;words&gt;" in page) is ("kept" in given["note"])
    assert ('value="false_alarm" required checked' in page) is (given["outcome"] == "false_alarm")
    flag.refresh_from_db()
    assert flag.outcome == ""


def test_who_comes_second_is_told_who_has_it(client, link, flag, plan):
    other = world.staff(plan.practice, Role.VET, "Second Vet")
    client.post(f"/a/{alert_code(flag, other, made_at=BEGAN)}/")

    answer = client.post(link)

    assert answer.status_code == 409
    assert "Second Vet already has this one." in answer.content.decode()


def test_after_its_review_there_is_nothing_to_take(client, link, flag):
    Flag.objects.update(state=Flag.State.REVIEWED, reviewed_at=BEGAN, found="ate at 21:10")

    page = client.get(link).content.decode()

    assert "I have it" not in page
    assert "ate at 21:10" in page


@pytest.mark.parametrize(("hours", "status"), [(24, 200), (24.01, 404)])
def test_it_opens_for_a_day(client, link, hours, status):
    move_clock(BEGAN + dt.timedelta(hours=hours) - dt.timedelta(seconds=5))

    assert client.get(link).status_code == status


def test_it_closes_when_the_person_leaves_and_cannot_be_altered(client, link, vet):
    at = link.index(":")
    assert client.get(link[: at - 1] + ("A" if link[at - 1] != "A" else "B") + link[at:]).status_code == 404
    assert client.get(link).status_code == 200

    Membership.objects.filter(staff=vet).update(active=False)

    assert client.get(link).status_code == 404


def test_staff_who_are_logged_in_take_it_from_the_page(client, flag, vet):
    client.force_login(vet)

    client.post(f"/flags/{flag.pk}/acknowledge/")

    flag.refresh_from_db()
    assert flag.acknowledged_by == vet
    assert client.get(f"/flags/{flag.pk}/acknowledge/").status_code == 405


@pytest.fixture
def urgent(flag: Flag) -> Flag:
    """The same, but urgent; the practice has closed, so it is told at once."""
    Flag.objects.filter(pk=flag.pk).update(worst=Level.URGENT, level=Level.URGENT, speak_by=world.at("22:00"))
    flag.refresh_from_db()
    return flag


def test_an_urgent_one_says_by_when_and_asks_for_no_outcome(client, urgent, link, vet):
    page = client.get(link).content.decode()
    for words in ("Urgent", "Speak to the owner by", "Mon 22:00", "I have it"):
        assert words in page
    assert "Emergency" not in page

    client.post(link)
    after = client.get(link).content.decode()
    assert "in the review of the flag" in after
    assert "What came of it" not in after
    urgent.refresh_from_db()
    assert (urgent.acknowledged_by, urgent.next_alert_at) == (vet, None)


def test_a_call_that_nobody_answered_is_named_and_rung_once_more(client, link, flag):
    client.post(link)
    client.post(link, {"outcome": "not_reached"})

    page = client.get(link).content.decode()
    assert "Nobody answered at 19:00" in page
    assert client.post(link, {"outcome": "not_reached"}).status_code == 409  # at once again: one call
    move_clock(BEGAN + dt.timedelta(minutes=10))
    client.post(link, {"outcome": "not_reached"})
    flag.refresh_from_db()
    assert flag.outcome == "not_reached"
