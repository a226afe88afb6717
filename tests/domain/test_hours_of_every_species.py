"""The rows of section 2: hours without food, a meal, droppings, urine, at which each level is reached, for all six.

Each is told exactly (at least equals at most), long after the first days; the row of the first day stands below.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import pytest

from followup.domain.answers import Question
from followup.domain.clock_rules import clock_findings
from followup.domain.observation import Observation, Told
from followup.domain.terms import Level, Procedure, Sign, Species
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
QUESTION = {Sign.FOOD: Question.APPETITE, Sign.FAECES: Question.FAECES, Sign.URINE: Question.URINE}
LAST_KNOWN = 100 * HOUR
"""After surgery: the windows of the first days are over."""

FOOD = {
    "guinea_pig": {"urgent": 6, "emergency": 12},
    "rabbit": {"urgent": 6, "emergency": 12},
    "ferret": {"urgent": 6, "emergency": 12},
    "rat": {"urgent": 12, "emergency": 24},
    "cat": {"urgent": 24, "emergency": 48},
    "dog": {"urgent": 24, "emergency": 48},
}
FAECES = {
    "guinea_pig": {"urgent": 8, "emergency": 12},
    "rabbit": {"urgent": 8, "emergency": 12},
    "ferret": {"monitor": 24, "urgent": 36},
    "rat": {"monitor": 24, "urgent": 36},
    "cat": {"monitor": 72, "urgent": 96},
    "dog": {"monitor": 72, "urgent": 96},
}
URINE = {
    **{each: {"monitor": 12, "urgent": 18, "emergency": 24} for each in ("guinea_pig", "rabbit", "ferret", "rat")},
    **{each: {"monitor": 18, "urgent": 24, "emergency": 36} for each in ("cat", "dog")},
}
ROWS = [
    (sign, species, limits)
    for sign, table in ((Sign.FOOD, FOOD), (Sign.FAECES, FAECES), (Sign.URINE, URINE))
    for species, limits in table.items()
]


def level_after(case, sign: Sign, span: dt.timedelta, since: dt.timedelta = LAST_KNOWN, **more: str) -> str:
    last = case.surgery_ended_at + since
    given = {QUESTION[sign]: "none", **{Question(key): value for key, value in more.items()}}
    seen = Observation(at=last + span, answers=given, told={sign: Told.exactly(last)})
    found = clock_findings(recovery(case, [seen]), last + span, frozenset({sign}))
    return max((each.level for each in found), default=Level.ON_TRACK).word


def check(case, sign: Sign, limits: Mapping[str, float], **more) -> None:
    before = "on_track"
    for level, hours in limits.items():
        assert level_after(case, sign, hours * HOUR - MINUTE, **more) == before, f"just before {hours} h"
        assert level_after(case, sign, hours * HOUR, **more) == level, f"at {hours} h"
        before = level


@pytest.mark.parametrize(("sign", "species", "limits"), ROWS, ids=lambda each: str(getattr(each, "value", each)))
def test_each_limit_is_reached_at_the_value_itself(sign, species, limits):
    check(case_of(Species(species), Procedure.MASS_REMOVAL), sign, limits)


@pytest.mark.parametrize("species", ["guinea_pig", "rabbit"])
def test_a_few_bites_do_not_stop_the_clock_of_a_meal(species):
    case = case_of(Species(species), Procedure.SPAY)
    normal = Observation(at=case.surgery_ended_at + LAST_KNOWN, answers={Question.APPETITE: "normal"})

    def level(span: dt.timedelta) -> str:
        bites = Observation(at=normal.at + MINUTE * 31, answers={Question.APPETITE: "a_few_bites"})
        later = Observation(at=normal.at + span, answers={Question.APPETITE: "a_few_bites"})
        found = clock_findings(recovery(case, [normal, bites, later]), later.at, frozenset({Sign.MEAL}))
        return max((each.level for each in found), default=Level.ON_TRACK).word

    # From the first bites on it is certain; from the normal meal on, half an hour longer, possible.
    assert level(6 * HOUR - MINUTE) == "on_track"
    assert level(6 * HOUR) == "monitor"
    assert level(6.5 * HOUR + MINUTE) == "urgent"
    assert level(24.5 * HOUR + MINUTE) == "emergency"


@pytest.mark.parametrize("species", ["ferret", "rat", "cat", "dog"])
def test_others_have_no_clock_of_a_meal(species):
    assert Sign.MEAL not in {rule.sign for rule in recovery(case_of(Species(species), Procedure.SPAY)).rules.clocks}


@pytest.mark.parametrize(
    ("age", "more"),
    [(36, {}), (60, {}), (12, {"demeanour": "dull"}), (12, {"mouth": "wet_chin"}), (12, {"balance": "hind_legs_weak"})],
)
def test_an_old_or_weak_ferret_has_less_time(age, more):
    check(
        case_of(Species.FERRET, Procedure.MASS_REMOVAL, age_months=age),
        Sign.FOOD,
        {"urgent": 4, "emergency": 6},
        **more,
    )


@pytest.mark.parametrize("age", [None, 35.9])
def test_a_young_ferret_or_one_of_unknown_age_has_longer(age):
    check(case_of(Species.FERRET, Procedure.MASS_REMOVAL, age_months=age), Sign.FOOD, FOOD["ferret"])


@pytest.mark.parametrize("species", ["guinea_pig", "rabbit"])
def test_on_the_first_day_droppings_may_take_longer(species):
    """Judged at `now`: under 24 h since surgery 8 h are monitor and 18 h urgent; from 24 h on 8 h are urgent."""
    case = case_of(Species(species), Procedure.SPAY, last_faeces_before_discharge_at=None)

    def level(hours: float) -> str:
        told = Observation(at=case.surgery_ended_at + 7 * HOUR, answers={Question.FAECES: "none"})
        found = clock_findings(recovery(case, [told]), case.surgery_ended_at + hours * HOUR, frozenset({Sign.FAECES}))
        return max((each.level for each in found), default=Level.ON_TRACK).word

    assert [level(hours) for hours in (7.9, 8, 17.9, 18, 23.9)] == [
        "on_track",
        "monitor",
        "monitor",
        "urgent",
        "urgent",
    ]
    assert level(24) == "emergency"
