"""A verdict is kept with its explanation, compared with the one before; an old row without one still shows."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import Plan, Verdict
from followup.services import assess as assessing
from followup.services.reasons import reasons_of
from tests import world
from tests.owner_world import move_clock
from tests.services.test_assess import GOOD, answer, look
from tests.web.test_patient_page import text, visitor

pytestmark = pytest.mark.django_db
HUNGRY: dict[str, Any] = {"appetite": ["less"], "faeces": ["fewer"], "demeanour": ["bright"]}
BLEEDS: dict[str, Any] = {"wound.bleeding": ["steady_drip"]}


@pytest.fixture
def plan() -> Plan:
    return world.running_plan()


def newest(plan: Plan) -> Verdict:
    return plan.verdicts.order_by("at", "pk")[plan.verdicts.count() - 1]


def page(plan: Plan) -> str:
    return text(visitor(plan).get(reverse("followup:patient", kwargs={"pk": plan.pk})))


def test_a_verdict_is_kept_with_what_changed_since_the_one_before(plan):
    answer(plan, "19:00", **GOOD)
    before = newest(plan)
    answer(plan, "20:45", **HUNGRY)

    row = newest(plan)
    changed = row.body["explanation"]["changed"]
    assert changed["since"] == before.at.isoformat()
    assert changed["level"] == {"was": "on_track", "now": "monitor"}
    assert {each["rule"]: (each["was"], each["now"]) for each in changed["findings"]} == {
        "eats_less": (None, "monitor"),
        "droppings_fewer": (None, "monitor"),
    }
    assert all(flag["explanation"]["rests_on"] for flag in row.body["flags"])


def test_the_first_verdict_is_compared_with_nothing(plan):
    answer(plan, "19:00", **GOOD)

    assert plan.verdicts.order_by("at", "pk")[0].body["explanation"]["changed"] is None


def test_the_page_tells_rule_answers_times_what_would_be_lower_and_what_to_do(plan):
    move_clock(world.at("21:00"))
    answer(plan, "20:45", **HUNGRY)
    shown = page(plan)

    for words in (
        "To do: look at it on the next list by Tue 11 Mar 20:45 .",
        "Has Pip eaten anything since the last time? Yes, but less than usual Mon 10 Mar 20:45, owner",
        "answered “Yes, as much as usual” instead: would raise nothing",
        "Certain: the answers settle it",
        "meloxicam , in the clinic, Mon 10 Mar 10:00",
        "it lowers nothing. M:",
        "Was on track on",
        "things not known",
        "As weighed on Mon 10 Mar 20:45. Decision support, not a substitute for the treating vet",
    ):
        assert words in shown, words


def test_the_same_level_for_other_reasons_says_so(plan):
    move_clock(world.at("21:20"))
    answer(plan, "20:45", **HUNGRY)
    answer(plan, "21:10", **{**GOOD, "worried": ["a_little"]})
    shown = page(plan)

    assert "Same level as on Mon 10 Mar 20:45, other reasons" in shown
    assert "New, monitor: the owner is a little worried" in shown
    assert "Was monitor" not in shown


def test_an_emergency_has_no_time_to_wait_for(plan):
    move_clock(world.at("21:00"))
    answer(plan, "20:45", **BLEEDS)

    assert "To do: a vet now, at any hour. The owner phones the number that answers now" in page(plan)


def test_a_row_from_before_verdicts_were_explained_still_shows(plan):
    move_clock(world.at("21:00"))
    answer(plan, "20:45", **HUNGRY)
    row = newest(plan)
    old = {key: value for key, value in row.body.items() if key != "explanation"}
    old["flags"] = [{key: value for key, value in each.items() if key != "explanation"} for each in old["flags"]]
    Verdict.objects.filter(pk=row.pk).update(body=old)
    shown = page(plan)

    for each in old["flags"]:
        assert each["because"] in shown
    assert "Lower if" not in shown
    assert "To do" not in shown
    answer(plan, "21:30", **GOOD)  # and the next verdict is compared with it
    assert newest(plan).body["explanation"]["changed"]["level"] == {"was": "monitor", "now": "on_track"}


def test_nothing_is_to_do_where_the_patient_is_in_a_clinic(plan):
    move_clock(world.at("21:00"))
    answer(plan, "20:45", **HUNGRY)
    Plan.objects.filter(pk=plan.pk).update(paused=Plan.Pause.IN_HOSPITAL)

    assert "To do" not in page(plan)


def test_a_fault_in_the_explanation_costs_no_verdict(plan, monkeypatch, caplog):
    words = "he is limp"

    def broken(*_: object) -> None:
        raise ValueError(words)  # the traceback quotes this line, and must not quote the words

    monkeypatch.setattr(assessing, "explain", broken)
    answer(plan, "20:45", **BLEEDS)

    assert newest(plan).level == Level.EMERGENCY
    assert "explanation" not in newest(plan).body
    assert plan.flags.open().exists()
    assert "could not be explained" in caplog.text
    assert "ValueError" in caplog.text
    assert "limp" not in caplog.text


def test_looking_again_explains_nothing_anew(plan, monkeypatch):
    answer(plan, "19:00", **GOOD)
    asked: list[object] = []
    monkeypatch.setattr(assessing, "explain", lambda *each: asked.append(each))
    look(plan, "19:00")

    assert asked == []


def test_no_verdict_has_no_reasons():
    assert reasons_of(None) is None


def test_staff_see_who_answered(plan):
    move_clock(world.at("21:00"))
    visitor(plan, Role.NURSE).post(
        reverse("followup:phone_answers", kwargs={"pk": plan.pk}),
        {"action": "save", "client_id": "call-1", "demeanour": "dull"},
    )

    shown = reasons_of(newest(plan))
    assert shown is not None
    (dull,) = [each for each in shown.reasons if each.code == "dull"]
    assert [each.by for each in dull.rests_on] == ["staff"]
