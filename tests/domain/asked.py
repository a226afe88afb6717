"""What a plan asks, for the plan's tests."""

from __future__ import annotations

from tests.recoveries import clock, plan_of


def asked_at(case, until_day=14) -> list[str]:
    return [clock(each.at) for each in plan_of(case).check_ins if each.day <= until_day]


def questions_on(case, day, kind="evening") -> set[str]:
    return {
        question
        for each in plan_of(case).check_ins
        if (each.day, each.kind.value) == (day, kind)
        for question in each.questions
    }


CORE = {
    "appetite",
    "last_ate_at",
    "faeces",
    "last_faeces_at",
    "demeanour",
    "wound",
    "worried",
    "text",
}
FIRST = {"warmth", "wound.bleeding", "breathing", "urine"}
WHOLE_WOUND = {
    "wound.edges", "wound.redness", "wound.swelling", "wound.discharge", "wound.bleeding",
    "wound.smell", "wound.interference",
}  # fmt: skip
