"""Whatever a case file holds, it becomes a plan that keeps its format and its promises, or a sentence.

Hours, zones, absences, medicines and amounts at random, possible or not. Source: clinical defaults, 7 and 8.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from decimal import Decimal
from itertools import pairwise
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from followup.casefile import compiled_from_json, plan_json, read_case_file
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan, Medicine
from followup.domain.plan import compile_plan
from followup.domain.terms import FollowUpError, Procedure, Species
from followup.protocols.load import available
from followup.protocols.load_formulary import formulary
from tests.case_files import schema, through_text

ENDED = dt.datetime(2026, 3, 26, 14, tzinfo=dt.UTC)
"""Changes of the clock lie in the fortnight after it, in most of these zones."""

ZONES = [
    "Europe/London", "America/Santiago", "Australia/Lord_Howe", "Asia/Kathmandu", "Asia/Beirut", "Antarctica/Troll",
    "Pacific/Apia", "Pacific/Chatham", "UTC",
]  # fmt: skip
DAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
DRUGS = sorted({row.drug for row in formulary().rows} | {"paracetamol", "prednisolone", "ketoprofen", "unheard of"})
PLAN = schema("plan")


def moment(hours: float) -> str:
    return (ENDED + dt.timedelta(minutes=round(hours * 60))).isoformat()


CLOCKS = st.builds("{:02}:{:02}".format, st.integers(0, 23), st.sampled_from([0, 1, 30, 59]))
AWAY = st.fixed_dictionaries({
    "days": st.lists(st.sampled_from(DAYS), min_size=1, max_size=7, unique=True), "from": CLOCKS, "to": CLOCKS,
})  # fmt: skip
HOURS = st.fixed_dictionaries({"wakes": CLOCKS, "sleeps": CLOCKS}, optional={"away": st.lists(AWAY, max_size=3)})
GIVEN = st.fixed_dictionaries(
    {"drug": st.sampled_from(DRUGS), "at": st.sampled_from([moment(-30), moment(-1), moment(0)])},
    optional={"mg_per_kg": st.sampled_from([0.01, 0.2, 0.3, 4]), "route": st.sampled_from(["sc", "po", "iv"])},
)
COURSE: dict[str, st.SearchStrategy[Any]] = {
    "drug": st.sampled_from(DRUGS),
    "every_hours": st.sampled_from([8, 12, 24, 48, 72, 6, 0.5, 24.5, 5000]),
    "days": st.sampled_from([1, 2, 3, 7, 60]),
}
AMOUNTS = st.sampled_from([0.00001, 0.05, 0.1, 0.2, 0.6, 1, 2, 4, 10, 1000])
LIQUID = st.fixed_dictionaries(
    {**COURSE, "mg_per_kg": AMOUNTS, "mg_per_ml": st.sampled_from([0.001, 0.3, 0.5, 1.5, 5, 50])},
    optional={"first_mg_per_kg": AMOUNTS, "syringe_ml": st.sampled_from([1, 2, 2.5, 3, 5, 10, 20])},
)
TABLET = st.fixed_dictionaries({
    **COURSE, "form": st.just("tablet"), "mg_per_kg": AMOUNTS, "mg_per_tablet": st.sampled_from([1, 5, 20]),
    "tablet_parts": st.sampled_from([1, 2, 4]),
})  # fmt: skip
FIXED = st.fixed_dictionaries({
    **COURSE, "form": st.just("fixed"), "fixed_amount": st.sampled_from([0.5, 1e6]), "fixed_unit": st.just("drop"),
})  # fmt: skip
CASES = st.fixed_dictionaries(
    {
        "patient": st.fixed_dictionaries({
            "species": st.sampled_from([each.value for each in Species]),
            "weight_g": st.sampled_from([0.9, 300, 900, 2400, 12_000, 200_000]),
        }),
        "procedure": st.sampled_from([each.value for each in Procedure]),
        "surgery_ended_at": st.just(moment(0)),
        "discharged_at": st.sampled_from([moment(0), moment(0.5), moment(6), moment(13), moment(80)]),
        "time_zone": st.sampled_from(ZONES),
    },
    optional={
        "owner_hours": HOURS,
        "given_in_clinic": st.lists(GIVEN, max_size=3),
        "home_medication": st.lists(st.one_of(LIQUID, TABLET, FIXED), max_size=3),
        "last_ate_before_discharge_at": st.sampled_from([moment(-2), moment(0)]),
    },
)  # fmt: skip


@settings(max_examples=400, suppress_health_check=[HealthCheck.too_slow])
@given(CASES)
def test_every_case_is_a_plan_or_a_sentence(values):
    try:
        case = read_case_file(values).case
    except FollowUpError as refusal:
        said = str(refusal)
        case = None
    else:
        said = ""
    if case is None:
        assert said.startswith("$.owner_hours")  # only hours that leave nobody there, or that are no hours
        return
    protocol = next(
        each for each in available() if (each.species, each.procedure) == (case.patient.species, case.procedure)
    )
    plan = compile_plan(case, protocol, formulary())
    printed = through_text(plan_json(plan, case.hours.zone))
    assert list(PLAN.iter_errors(printed)) == []
    assert compiled_from_json(printed) == plan
    keeps_its_promises(case, plan)


def keeps_its_promises(case: Case, plan: CompiledPlan) -> None:
    for each in plan.check_ins:
        assert case.hours.there(each.at)
        assert case.discharged_at < each.at < each.answer_by
    assert all(two.at - one.at >= dt.timedelta(hours=2) for one, two in pairwise(plan.check_ins))
    assert all(gap.starts < gap.ends for gap in plan.cover.gaps)
    for medicine in plan.medication:
        for dose in medicine.doses:
            assert case.hours.there(dose.at)
            assert case.discharged_at <= dose.not_before <= dose.at < dose.give_until
        assert all(one.give_until < two.at for one, two in pairwise(medicine.doses))
        hard = medicine.hard_limit_mg_per_kg_a_day
        assert hard is None or max(a_day(case, medicine).values(), default=Decimal(0)) <= hard


def a_day(case: Case, medicine: Medicine) -> Counter[dt.date]:
    """The mg per kg of each of the owner's days, as delivered; printed to six places, so a hair less than printed."""
    found: Counter[dt.date] = Counter()
    for dose in medicine.doses:
        delivered = dose.mg_per_kg_delivered or Decimal(0)
        found[case.hours.local(dose.at).date()] += delivered - Decimal("0.0000005")  # type: ignore[assignment]
    return found
