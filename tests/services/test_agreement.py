"""How often whoever reviewed agreed with the rules: one practice, one span, each flag once, in its own direction."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from clinic.models import Role
from followup.domain.agreement import Share
from followup.domain.terms import Level
from followup.models import Flag, Plan
from followup.services.agreement import Agreement, agreement
from followup.services.review import Looked, review
from tests import world
from tests.services.test_review import told

pytestmark = pytest.mark.django_db

LOOKED = Looked("seen", "rang")
SINCE, UNTIL = world.at("00:00"), world.at("00:00", day=30)


def reviewed(really: Level, *, plan: Plan | None = None, **answers: str) -> Flag:
    """One flag that these answers open, reviewed ten minutes later as `really`."""
    plan = plan or world.running_plan()
    before = set(plan.flags.values_list("pk", flat=True))
    told(plan, world.at("20:00"), appetite="normal", **answers)
    flag = plan.flags.open().exclude(pk__in=before).get()
    looked = replace(LOOKED, really=really)
    return review(flag, looked, staff=world.staff(plan.practice), now=world.at("20:10"))


def counted(where=None, *, since: dt.datetime = SINCE, until: dt.datetime = UNTIL) -> Agreement:
    return agreement(where or world.practice(), since=since, until=until)


def cell(found: Agreement, tool: str, really: str) -> int:
    line = next(each for each in found.lines if each.level == tool)
    return line.cells[found.levels.index(really)]


def test_each_reviewed_flag_is_counted_once_where_rules_and_reviewer_put_it():
    reviewed(Level.URGENT, worried="very")
    reviewed(Level.ON_TRACK, worried="very")
    reviewed(Level.URGENT, worried="a_little")
    reviewed(Level.EMERGENCY, worried="a_little")
    reviewed(Level.EMERGENCY, wound__bleeding="steady_drip")

    found = counted()

    assert found.levels == ("emergency", "urgent", "monitor", "on_track")
    assert cell(found, "urgent", "urgent") == cell(found, "urgent", "on_track") == 1
    assert cell(found, "monitor", "urgent") == cell(found, "emergency", "emergency") == 1
    assert [line.total for line in found.lines] == [1, 2, 2, 0]
    assert (found.same, found.misses, found.false_alarms) == (Share(2, 5), Share(2, 5), Share(1, 5))
    assert found.kappa is not None


def test_the_worst_level_counts_and_the_rules_that_gave_it_though_the_answer_is_good_by_then():
    plan = world.running_plan()
    told(plan, world.at("20:00"), appetite="normal", worried="very")
    told(plan, world.at("20:45"), appetite="normal", worried="a_little")
    flag = plan.flags.open().get(concern="worry")
    assert (flag.worst, flag.level) == (Level.URGENT, Level.MONITOR)
    review(flag, replace(LOOKED, really=Level.MONITOR), staff=world.staff(plan.practice), now=world.at("21:00"))

    found = counted()

    assert cell(found, "urgent", "monitor") == 1
    (rule,) = found.rules
    first = next(row for row in plan.verdicts.order_by("at") if row.level == Level.URGENT)
    assert rule.rule in {each["rule"] for each in first.body["flags"] if each["level"] == "urgent"}
    assert (rule.concern, rule.missed, rule.alarmed, rule.reviewed) == ("worry", 0, 1, 1)


def test_rules_are_listed_by_how_often_they_were_overruled_and_agreed_ones_not_at_all():
    for really in (Level.ON_TRACK, Level.EMERGENCY, Level.URGENT):
        reviewed(really, worried="very")
    reviewed(Level.MONITOR, wound__bleeding="steady_drip")
    reviewed(Level.EMERGENCY, demeanour="collapsed")

    found = [(each.concern, each.missed, each.alarmed, each.reviewed) for each in counted().rules]

    assert found == [("worry", 1, 1, 3), ("wound", 0, 1, 1)]


def test_only_the_rules_that_gave_the_worst_level_decided():
    flag = reviewed(Level.MONITOR, wound__bleeding="steady_drip", wound__redness="marked")
    assert len({each["level"] for each in flag.rules}) > 1

    (rule,) = counted().rules

    assert [each["level"] for each in flag.rules if each["rule"] == rule.rule] == ["emergency"]


def test_only_five_rules_are_named():
    answers: dict[str, Any] = {
        "worried": "very",
        "demeanour": "collapsed",
        "breathing": "laboured",
        "belly": "tight_or_drum",
        "wound__bleeding": "steady_drip",
        "scrotum_or_groin": "soft_bulge",
    }
    for key, value in answers.items():
        reviewed(Level.MONITOR, **{key: value})

    assert len(counted().rules) == 5


def test_only_this_practice_this_span_and_what_somebody_reviewed():
    elsewhere = world.running_plan(where=world.practice("oak-lane"))
    reviewed(Level.ON_TRACK, plan=elsewhere, worried="very")
    reviewed(Level.URGENT, worried="very")
    told(world.running_plan(), world.at("20:00"), appetite="normal", worried="very")  # open still

    assert counted().same == Share(1, 1)
    assert counted(since=world.at("20:10"), until=world.at("20:11")).same.of == 1
    assert counted(since=world.at("20:11")).same.of == 0
    assert counted(until=world.at("20:10")).same.of == 0


def test_flags_of_before_the_question_are_named_and_not_counted_and_those_without_rules_are_neither():
    flag = reviewed(Level.URGENT, worried="very")
    Flag.objects.filter(pk=flag.pk).update(judged_level=None)
    flag = reviewed(Level.URGENT, worried="very")
    Flag.objects.filter(pk=flag.pk).update(concern="not_weighed")

    found = counted()

    assert (found.same, found.not_said, found.rules) == (Share(0, 0), 1, ())


def test_a_nurses_judgement_counts_too():
    plan = world.running_plan()
    told(plan, world.at("20:00"), appetite="normal", worried="a_little")
    nurse = world.staff(plan.practice, Role.NURSE)
    looked = replace(LOOKED, really=Level.ON_TRACK)
    review(plan.flags.open().get(), looked, staff=nurse, now=world.at("20:10"))

    assert cell(counted(), "monitor", "on_track") == 1


def test_the_number_of_queries_does_not_grow(django_assert_num_queries):
    reviewed(Level.URGENT, worried="very")
    where = world.practice()
    with django_assert_num_queries(2):
        counted(where)
    for _ in range(3):
        reviewed(Level.ON_TRACK, worried="very")
    where = world.practice()
    with django_assert_num_queries(2):
        counted(where)
