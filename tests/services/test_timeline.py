"""The history of a patient: each change of level with the verdict that caused it, and what repeats itself once."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Event, Message, Plan, Reply, Verdict
from followup.services.assess import assess
from followup.services.escalate import escalate
from followup.services.timeline import Line, timeline
from tests import world
from tests.services.test_review import bleeding, told
from tests.world import at

pytestmark = pytest.mark.django_db

QUARTER = dt.timedelta(minutes=15)


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


def lines(plan: Plan, kind: str) -> list[Line]:
    """Oldest first."""
    plan.refresh_from_db()
    return [line for line in reversed(timeline(plan)) if line.kind == kind]


def levels(plan: Plan) -> list[tuple[str, str, str]]:
    found = [line.weighed for line in lines(plan, "level")]
    return [(each.was, each.level, each.cause) for each in found if each is not None]


def test_every_change_of_level_is_a_row_with_its_cause(plan):
    told(plan, at("18:40"), appetite="normal", faeces="normal", demeanour="bright")
    told(plan, at("20:00"), appetite="normal", worried="very")
    assess(plan, now=at("20:00"), cause=Verdict.Cause.TIME)  # nothing new
    told(plan, at("20:31"), appetite="normal", worried="no", demeanour="bright", faeces="normal")
    assess(plan, now=at("10:00", day=1), cause=Verdict.Cause.TIME)

    changes = levels(plan)

    assert changes[:3] == [
        ("", "on_track", "enrolled"),
        ("on track", "urgent", "staff"),
        ("urgent", "on_track", "staff"),
    ]
    assert changes[-1][2] == "time alone"
    assert [each[1] for each in changes] == [row.get_level_display() for row in _changed_rows(plan)]


def _changed_rows(plan: Plan) -> list[Verdict]:
    rows = list(plan.verdicts.order_by("at", "pk"))
    return [row for number, row in enumerate(rows) if number == 0 or rows[number - 1].level != row.level]


def test_a_row_opens_to_rules_with_values_limits_certainty_source_and_version(plan):
    told(plan, at("18:40"), appetite="none", faeces="normal", demeanour="bright")
    assess(plan, now=at("23:00"), cause=Verdict.Cause.TIME)

    last = lines(plan, "level")[-1].weighed

    assert last is not None
    assert last.protocol == str(plan.protocol)
    food = next(each for each in last.rules if each["concern"] == "eating")
    assert "no food for 4.3 to 8 h; 12 h would be reached" in food["because"]
    assert food["certainty"] in {"certain", "possible"}
    assert food["source"]


def test_a_level_that_changes_while_the_rules_stay_is_a_row(plan):
    """The same rule gives monitor at first and urgent later: a dull animal, told again after 24 h."""
    told(plan, at("20:00"), appetite="normal", faeces="normal", demeanour="dull")
    told(plan, at("20:00", day=1), appetite="normal", faeces="normal", demeanour="dull")

    first, last = plan.verdicts.get(at=at("20:00")), plan.verdicts.get(at=at("20:00", day=1))
    assert _about(first, "behaviour") == _about(last, "behaviour") != set()
    assert [first.level, last.level] == [Level.MONITOR, Level.URGENT]
    assert {each[1] for each in levels(plan)} >= {"monitor", "urgent"}


def test_the_same_rules_at_the_same_level_are_no_news(plan):
    told(plan, at("20:00"), appetite="normal", faeces="normal", worried="very")
    shown = len(lines(plan, "level") + lines(plan, "verdict"))
    told(plan, at("20:40"), appetite="normal", faeces="normal", worried="very")

    assert plan.verdicts.filter(at=at("20:40")).exists()  # heard anew: kept, for the audit
    assert len(lines(plan, "level") + lines(plan, "verdict")) == shown


def _about(row: Verdict, concern: str) -> set[str]:
    return {each["rule"] for each in row.body["flags"] if each["concern"] == concern}


def test_rules_that_change_while_the_level_stays_are_kept_as_a_row_of_their_own(plan):
    told(plan, at("20:00"), appetite="normal", faeces="normal", worried="a_little")
    told(plan, at("20:15"), appetite="normal", faeces="fewer", worried="a_little")

    found = lines(plan, "verdict")[-1]

    assert found.at == at("20:15")
    assert found.words.startswith("as before; ")
    assert found.weighed is not None
    assert {each["concern"] for each in found.weighed.rules} >= {"worry", "droppings"}


def test_alerts_of_one_flag_are_one_row_with_their_count_and_each_of_them_inside(plan):
    world.on_call(plan.practice, world.staff(plan.practice, Role.VET))
    flag = bleeding(plan)
    for quarters in range(9):
        escalate(now=at("20:00") + quarters * QUARTER)
    alerts = Message.objects.filter(flag=flag, purpose=Message.Purpose.ALERT)

    (folded,) = [line for line in lines(plan, "message") if "alerts" in line.words]

    assert alerts.count() > 5
    assert folded.words == f"{alerts.count()} alerts to staff"
    assert folded.at == at("20:00")
    assert len(folded.repeats) == alerts.count()
    assert folded.repeats[-1][0] == at("22:00")
    assert all("Vet of Elm Street Clinic" in words for _at, words in folded.repeats)


def test_alerts_of_two_flags_are_two_rows_and_a_single_one_stands_as_it_is(plan):
    world.on_call(plan.practice, world.staff(plan.practice, Role.VET))
    bleeding(plan)
    told(plan, at("20:00"), appetite="normal", demeanour="collapsed")
    escalate(now=at("20:00"))
    single = [line for line in lines(plan, "message") if "to Vet of" in line.words]
    assert [line.repeats for line in single] == [(), ()]

    escalate(now=at("20:05"))
    assert len([line for line in lines(plan, "message") if "alerts to staff" in line.words]) == 2


def test_that_nobody_is_on_call_is_said_once_with_its_count(plan):
    bleeding(plan)
    for quarters in range(3):
        escalate(now=at("20:00") + quarters * QUARTER)
    said = Event.objects.filter(plan=plan, what="nobody_on_call").count()

    found = [line for line in lines(plan, "event") if "nobody" in line.words]

    assert said == 3
    assert [line.words for line in found] == ["3 times: nobody on call: nobody is on call now"]


def test_the_number_of_queries_does_not_grow(plan, django_assert_num_queries):
    bleeding(plan)
    seen = Plan.objects.select_related("patient").get(pk=plan.pk)
    with django_assert_num_queries(5):
        timeline(seen)
    for minutes in range(5):
        told(plan, at("20:00") + dt.timedelta(minutes=minutes), appetite="normal", worried="very")
        escalate(now=at("20:00") + minutes * QUARTER)
    seen = Plan.objects.select_related("patient").get(pk=plan.pk)
    with django_assert_num_queries(5):
        timeline(seen)


def test_an_answer_that_was_kept_and_not_weighed_yet_says_so(plan):
    told(plan, at("18:40"), appetite="normal")
    assert [line.words for line in lines(plan, "reply")] == ["answered"]

    Reply.objects.filter(plan=plan).update(state=Reply.State.STORED)

    assert [line.words for line in lines(plan, "reply")] == ["answered, not weighed yet"]
