"""The lines above every page of staff: said whether or not a tick still runs, the worst first, two queries at most."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic.models import Role
from followup.models import Channel, Count, Gap, Heartbeat, Plan, Route
from followup.services.links import path_of, recipient_for
from followup.services.pause import pause
from tests import world
from tests.owner_world import move_clock
from tests.services.post import EVENING, message, nothing_waits
from tests.test_tick_by_index import walks_in
from tests.world import at

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
NOW = EVENING + 10 * MINUTE
PAGES = ["/", "/tray/", "/enrol/", "/practice/sending/", "/agreement/"]
EVERYTHING = ["down", "held", "shut", "only_this_screen", "clock", "catching_up", "paused"]


@pytest.fixture
def plan(settings) -> Plan:
    """All is well: the last tick was just now, and there is a way to alert people."""
    settings.EMAIL_URL = "smtp://localhost?from=desk@example.org"
    made = world.running_plan()
    nothing_waits(made)
    Heartbeat.objects.beat("tick", NOW)
    move_clock(NOW)
    return made


@pytest.fixture
def desk(plan) -> Client:
    visitor = Client()
    visitor.force_login(world.staff(plan.practice, Role.FRONT_DESK))
    return visitor


def lines(desk: Client, path: str = "/tray/") -> list[tuple[str, str, str]]:
    """What it is, its role, and its words, from top to bottom."""
    page = " ".join(desk.get(path).content.decode().split())
    found = re.findall(r'<p class="banner[^"]*" role="(\w+)" data-what="(\w+)"> (.*?) </p>', page)
    return [(what, role, re.sub(r"<[^>]+>", "", words)) for role, what, words in found]


def no_tick() -> None:
    Heartbeat.objects.filter(name="tick").update(at=EVENING)


def held(*, confirmed: bool = False) -> Gap:
    confirmed_at = NOW if confirmed else None
    return Gap.objects.create(
        kind=Gap.Kind.RESTORED, began_at=at("12:00"), ended_at=at("14:00"), confirmed_at=confirmed_at
    )


def shut(name: str) -> Route:
    return Route.objects.create(name=name, failures=3, since=at("18:02"), why="no connection", shut_until=NOW)


def test_when_all_is_well_there_is_no_line(desk):
    assert [lines(desk, page) for page in PAGES] == [[]] * len(PAGES)


@pytest.mark.parametrize("page", PAGES)
def test_that_sending_is_down_stands_on_every_page_though_no_tick_says_so(desk, page):
    no_tick()

    ((what, role, words),) = lines(desk, page)

    assert (what, role) == ("down", "alert")
    assert "Sending is down. The program has not looked at what is due since 18:30." in words
    assert "Phone owners from the morning list" in words


def test_nobody_who_is_not_logged_in_sees_a_line(plan):
    no_tick()
    owner = recipient_for(plan.practice, plan.patient.owner, now=EVENING)

    for path in (path_of(owner), "/log-in/", "/nothing-here/"):
        assert 'class="banner' not in Client().get(path).content.decode()


def test_a_message_of_ours_that_waits_is_said_and_one_of_others_is_not(desk, plan):
    other = world.running_plan(where=world.practice("other-street"))
    message(other, to=recipient_for(other.practice, other.patient.owner, now=EVENING), key="theirs")
    assert lines(desk) == []

    message(plan, to=recipient_for(plan.practice, plan.patient.owner, now=EVENING), key="ours")

    assert "A message that was due at 18:30 has not gone out." in lines(desk)[0][2]


def test_a_way_out_that_is_shut_says_which_since_when_and_why(desk):
    shut("installation:email")

    ((what, role, words),) = lines(desk)

    assert (what, role) == ("shut", "alert")
    assert "Nothing gets through by e-mail since 18:02: no connection." in words
    assert "Messages by e-mail wait" in words


def test_the_installations_way_is_no_concern_of_a_practice_with_its_own(desk, plan):
    Channel.objects.create(practice=plan.practice, medium="email", secret_url="x")
    shut("installation:email")
    assert lines(desk) == []

    shut(f"practice:{plan.practice_id}:email")

    assert [what for what, *_ in lines(desk)] == ["shut"]


def test_another_practices_own_way_is_its_own_affair(desk):
    shut(f"practice:{world.practice('other-street').pk}:email")

    assert lines(desk) == []


def test_without_a_way_to_alert_people_every_page_and_the_enrolment_say_so(desk, plan, settings):
    settings.EMAIL_URL = settings.SMS_URL = ""
    for page in PAGES:
        ((what, role, words),) = lines(desk, page)
        assert (what, role) == ("only_this_screen", "alert")
        assert "Emergencies reach only this screen: no way to alert people is set up." in words

    Channel.objects.create(practice=plan.practice, medium="chat", secret_url="x")
    assert lines(desk) == []

    Channel.objects.update(enabled=False)
    assert len(lines(desk)) == 1


def test_while_it_catches_up_it_says_how_long_it_was_down(desk):
    gap = Gap.objects.create(kind=Gap.Kind.STOPPED, began_at=at("23:10", day=-1), ended_at=at("14:00"))

    ((what, role, words),) = lines(desk)

    assert (what, role) == ("catching_up", "status")
    assert "Sending was down from 9 March 23:10 to 14:00." in words

    Gap.objects.filter(pk=gap.pk).update(caught_up_at=NOW)
    assert lines(desk) == []


def test_a_restored_backup_holds_until_somebody_confirms_it(desk):
    gap = held()

    ((what, role, words),) = lines(desk)

    assert (what, role) == ("held", "alert")
    assert "what happened from 12:00 to 14:00 is not known here" in words

    Gap.objects.filter(pk=gap.pk).update(confirmed_at=NOW, caught_up_at=NOW)
    assert lines(desk) == []


@pytest.mark.parametrize(("name", "words"), [("clock_set_back", "was set back"), ("clock_jumped", "jumped")])
def test_a_fault_of_the_clock_is_said_for_an_hour(desk, name, words):
    Count.objects.one_more(name, NOW - 59 * MINUTE)
    assert f"The clock of this machine {words} at 17:41." in lines(desk)[0][2]

    Count.objects.update(last_at=NOW - 61 * MINUTE)

    assert lines(desk) == []


def test_a_pause_is_calm_and_says_since_when_and_why(desk, plan):
    pause(plan.practice, staff=world.staff(plan.practice), reason="Moving <the> line", now=EVENING)

    ((what, role, words),) = lines(desk)

    assert (what, role) == ("paused", "status")
    assert "All messages to owners are paused since 18:30: Moving &lt;the&gt; line." in words


def everything(plan: Plan) -> None:
    Gap.objects.create(kind=Gap.Kind.STOPPED, began_at=at("12:00"), ended_at=at("14:00"))
    held()
    Count.objects.one_more("clock_jumped", NOW)
    pause(plan.practice, staff=world.staff(plan.practice), reason="a trial", now=EVENING)
    shut("installation:email")
    no_tick()


def test_several_stand_below_each_other_the_worst_first(desk, plan, settings):
    everything(plan)
    settings.EMAIL_URL = ""

    assert [what for what, *_ in lines(desk)] == EVERYTHING


def test_the_lines_cost_two_queries_at_most(desk, plan):
    def asked() -> list[str]:
        with CaptureQueriesContext(connection) as queries:
            desk.get("/tray/")
        return [each["sql"] for each in queries if "followup_route" in each["sql"] or "heartbeat" in each["sql"]]

    assert len(asked()) == 2
    everything(plan)
    assert len(asked()) == 2


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL chooses by how full a table is")
def test_they_walk_through_no_table_that_grows(desk, plan):
    everything(plan)
    with CaptureQueriesContext(connection) as asked:
        desk.get("/tray/")

    assert walks_in(query["sql"] for query in asked) == set()


def test_times_are_those_of_the_practice(desk, plan):
    plan.practice.time_zone = "Asia/Kolkata"
    plan.practice.save()
    no_tick()

    assert "since 11 March 00:00." in lines(desk)[0][2] or "since 00:00." in lines(desk)[0][2]


def test_whose_practice_it_is_is_asked_once_for_a_page(desk):
    with CaptureQueriesContext(connection) as queries:
        desk.get("/")

    assert len([each for each in queries if each["sql"].startswith('SELECT "clinic_membership"')]) == 1
