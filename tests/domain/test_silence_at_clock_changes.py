"""Silence at a change of clocks: hours pass, the owner's wall clock stays. Clinical defaults, 5."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.observation import Observation
from followup.domain.terms import Concern
from followup.domain.triage import triage
from tests.domain.triage_cases import recovery, seen
from tests.recoveries import at, guinea_pig

PIG = guinea_pig()
FINE: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}
FIRST_EVENING = [seen("10 18:40", **FINE), seen("10 20:50", **FINE)]


@pytest.mark.parametrize(
    ("ended", "asked", "due"),
    [
        # clocks go on at 01:00 on Sunday 30 March, back on Sunday 26 October: 4 h and 12 h are hours that pass
        ("2025-03-29 10:30", "2025-03-30 18:30", "2025-03-31 07:00"),
        ("2025-10-25 10:30", "2025-10-26 18:30", "2025-10-27 07:00"),
        ("2025-03-27 10:30", "2025-03-30 18:30", "2025-03-31 18:30"),  # 79 h after surgery: 24 h
        ("2025-10-23 19:00", "2025-10-26 18:30", "2025-10-27 18:30"),  # 72.5 h have passed by then, not 71.5
        ("2025-03-27 19:00", "2025-03-30 18:30", "2025-03-31 07:00"),  # 70.5 h have passed, not 71.5
    ],
)
def test_silence_at_a_change_of_clocks(ended, asked, due):
    surgery = at(ended)
    case = guinea_pig(
        surgery_ended_at=surgery,
        discharged_at=surgery.replace(minute=30) + (at("2025-03-10 16:30") - at("2025-03-10 10:30")),
        given_in_clinic=(),
        home_medication=(),
        last_ate_before_discharge_at=None,
        last_faeces_before_discharge_at=None,
    )
    found = next(each for each in recovery(case).check_ins if each.at == at(asked))

    assert found.answer_by == at(due)


@pytest.mark.parametrize(("operated", "change"), [("2025-03-29", "2025-03-30"), ("2025-10-25", "2025-10-26")])
def test_the_first_night_over_a_change_of_clocks_keeps_the_wall_clock(operated, change):
    """Asleep at 22:00, 10:00, 14:00 and 18:00 are the owner's clock, whatever the night's length."""
    case = guinea_pig(
        surgery_ended_at=at(f"{operated} 10:30"),
        discharged_at=at(f"{operated} 16:30"),
        given_in_clinic=(),
        home_medication=(),
        last_ate_before_discharge_at=at(f"{operated} 15:00"),
        last_faeces_before_discharge_at=None,
    )
    evening = replace(seen("10 20:50", **FINE), at=at(f"{operated} 20:50"))

    def rule(now: str, *told: Observation) -> str:
        found = triage(recovery(case, told), at(now)).findings
        return next((f"{each.level.word} {each.rule}" for each in found if each.concern is Concern.SILENCE), "")

    assert (rule(f"{operated} 21:59"), rule(f"{operated} 22:00")) == ("", "urgent silence")
    assert rule(f"{change} 09:59", evening) == ""
    assert rule(f"{change} 10:00", evening) == "urgent silence"
    assert rule(f"{change} 14:00", evening) == "urgent silence_a_vet_decides"
    assert rule(f"{change} 18:00", evening) == "urgent silence_never_heard_from"
