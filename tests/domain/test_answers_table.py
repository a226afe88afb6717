"""The rows of section 4 for guinea pig and rabbit, each at the hours where its level changes.

Only the findings of the answer itself are looked at; clocks, silence and nights have tables of their own.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.answer_rules import answer_findings
from followup.domain.answers import Question
from followup.domain.case import DischargeCard
from followup.domain.observation import Observation
from followup.domain.terms import Approach, Closure, Level
from tests.domain.triage_cases import recovery
from tests.recoveries import guinea_pig, rabbit

PIG, DOE = guinea_pig(), rabbit()
LEFT_OPEN = guinea_pig(discharge=DischargeCard(closure=Closure.LEFT_OPEN))
SCROTAL = guinea_pig(discharge=DischargeCard(approach=Approach.SCROTAL))


def level(case, hours: float, **answers: str) -> str:
    """What the answers give when the animal was seen so many hours after surgery."""
    at = case.surgery_ended_at + dt.timedelta(hours=hours)
    given = {Question(key.replace("wound_", "wound.")): value for key, value in answers.items()}
    found = answer_findings(recovery(case, [Observation(at=at, answers=given)]))
    return max((each.level for each in found), default=Level.ON_TRACK).word


@pytest.mark.parametrize(
    ("case", "answers", "levels"),
    [
        (PIG, {"demeanour": "collapsed"}, {1: "emergency", 200: "emergency"}),
        (PIG, {"demeanour": "dull"}, {23.9: "monitor", 24: "urgent"}),
        (PIG, {"demeanour": "quiet"}, {47.9: "on_track", 48: "monitor"}),
        (PIG, {"breathing": "laboured"}, {5: "emergency"}),
        (PIG, {"breathing": "fast"}, {5: "monitor"}),
        (PIG, {"gums": "pale"}, {5: "emergency"}),
        (PIG, {"gums": "blue"}, {5: "emergency"}),
        (PIG, {"gums": "not_checked"}, {5: "on_track"}),
        (PIG, {"seizure": "yes"}, {5: "emergency"}),
        (PIG, {"belly": "tight_or_drum"}, {5: "emergency"}),
        (DOE, {"belly": "swollen"}, {5: "urgent"}),
        (PIG, {"warmth": "cold_all_over"}, {5: "emergency"}),
        (PIG, {"warmth": "cool_ears_feet"}, {11.9: "monitor", 12: "urgent"}),
        (PIG, {"mouth": "wet_chin"}, {5: "urgent"}),
        (PIG, {"mouth": "drops_food"}, {5: "urgent"}),
        (PIG, {"mouth": "bleeding"}, {5: "urgent"}),
        (PIG, {"balance": "wobbly"}, {11.9: "monitor", 12: "urgent"}),
        (PIG, {"balance": "head_tilt"}, {5: "urgent"}),
        (PIG, {"balance": "hind_legs_weak"}, {5: "urgent"}),
        (PIG, {"balance": "rolling"}, {5: "emergency"}),
        (PIG, {"urine": "straining"}, {5: "emergency"}),
        (PIG, {"urine": "none"}, {5: "monitor"}),
        (PIG, {"urine": "bloody"}, {5: "urgent"}),
        (DOE, {"urine": "bloody"}, {71.9: "urgent", 72: "monitor"}),
        (PIG, {"urine": "little"}, {5: "monitor"}),
        (PIG, {"appetite": "normal"}, {60: "on_track"}),
        (PIG, {"appetite": "less"}, {47.9: "monitor", 48: "urgent"}),
        (PIG, {"appetite": "a_few_bites"}, {5: "monitor", 48: "urgent"}),
        (PIG, {"appetite": "none"}, {5: "monitor", 48: "urgent"}),
        (PIG, {"faeces": "fewer"}, {47.9: "monitor", 48: "urgent"}),
        (DOE, {"faeces": "fewer"}, {71.9: "monitor", 72: "urgent"}),
        (PIG, {"faeces": "soft"}, {47.9: "on_track", 48: "monitor"}),
        (DOE, {"faeces": "night_droppings_left"}, {5: "monitor"}),
        (PIG, {"faeces": "diarrhoea"}, {5: "urgent"}),
        (PIG, {"faeces": "diarrhoea", "demeanour": "dull"}, {5: "emergency"}),
        (PIG, {"faeces": "none"}, {47.9: "monitor", 48: "urgent"}),
        (PIG, {"drinking": "none"}, {5: "on_track"}),
        (PIG, {"drinking": "none", "appetite": "none"}, {5: "monitor"}),
        (PIG, {"drinking": "less"}, {5: "on_track"}),
        (PIG, {"wound_edges": "tissue_showing"}, {5: "emergency"}),
        (PIG, {"wound_edges": "gaping"}, {5: "emergency"}),
        (PIG, {"wound_edges": "slightly_open"}, {5: "urgent"}),
        (LEFT_OPEN, {"wound_edges": "tissue_showing"}, {5: "emergency"}),
        (LEFT_OPEN, {"wound_edges": "slightly_open"}, {5: "on_track"}),
        (PIG, {"wound_bleeding": "steady_drip"}, {5: "emergency"}),
        (PIG, {"wound_bleeding": "spots"}, {23.9: "monitor", 24: "urgent"}),
        (LEFT_OPEN, {"wound_bleeding": "spots"}, {23.9: "on_track", 24: "monitor", 48: "urgent"}),
        (DOE, {"wound_discharge": "clear"}, {23.9: "on_track", 24: "monitor", 48: "urgent"}),
        (SCROTAL, {"wound_discharge": "blood_tinged"}, {23.9: "on_track", 48: "monitor", 72: "urgent"}),
        (LEFT_OPEN, {"wound_discharge": "clear"}, {24: "monitor", 71.9: "monitor", 72: "urgent"}),
        (PIG, {"wound_discharge": "pus"}, {5: "urgent"}),
        (PIG, {"wound_smell": "yes"}, {5: "urgent"}),
        (PIG, {"wound_redness": "mild"}, {167.9: "on_track", 168: "monitor"}),
        (PIG, {"wound_redness": "marked"}, {5: "urgent"}),
        (PIG, {"wound_redness": "spreading"}, {5: "urgent"}),
        (PIG, {"wound_swelling": "mild"}, {167.9: "on_track", 168: "monitor"}),
        (PIG, {"wound_swelling": "marked"}, {5: "urgent"}),
        (PIG, {"wound_swelling": "growing"}, {5: "urgent"}),
        (PIG, {"wound_swelling": "soft_bulge"}, {5: "emergency"}),
        (PIG, {"wound_interference": "some"}, {71.9: "on_track", 72: "monitor"}),
        (PIG, {"wound_interference": "constant"}, {5: "urgent"}),
        (PIG, {"stitches": "some_missing"}, {5: "urgent", 200: "monitor"}),
        (PIG, {"scrotum_or_groin": "soft_bulge"}, {5: "emergency", 300: "emergency"}),
        (PIG, {"scrotum_or_groin": "mild_swelling"}, {119.9: "on_track", 120: "monitor"}),
        (DOE, {"scrotum_or_groin": "mild_swelling"}, {5: "monitor"}),
        (PIG, {"scrotum_or_groin": "marked_swelling"}, {5: "urgent"}),
        (DOE, {"vulva": "spots"}, {71.9: "monitor", 72: "urgent"}),
        (DOE, {"vulva": "bleeding"}, {5: "urgent"}),
        (DOE, {"vulva": "bleeding", "gums": "pale"}, {5: "emergency"}),
        (DOE, {"vulva": "pus"}, {5: "urgent"}),
        (PIG, {"collar": "cannot_eat_or_drink"}, {5: "urgent"}),
        (PIG, {"collar": "off_by_itself"}, {5: "on_track"}),
        (PIG, {"collar": "off_by_itself", "wound_interference": "some"}, {5: "urgent"}),
        (PIG, {"rear_end": "maggots_or_eggs"}, {5: "emergency"}),
        (PIG, {"rear_end": "sore"}, {5: "monitor"}),
        (PIG, {"company": "fighting"}, {5: "monitor"}),
        (PIG, {"company": "licks_wound", "wound_bleeding": "spots"}, {30: "urgent"}),
        (PIG, {"contact_with_females": "yes"}, {5: "monitor"}),
        (PIG, {"worried": "a_little"}, {5: "monitor"}),
        (PIG, {"worried": "very"}, {5: "urgent"}),
    ],
)
def test_each_row(case, answers, levels):
    assert {hours: level(case, hours, **answers) for hours in levels} == levels


def test_a_dirty_behind_twice_running_is_urgent_in_a_rabbit_alone():
    def twice(case):
        start = case.surgery_ended_at
        seen = [
            Observation(at=start + dt.timedelta(hours=hours), answers={Question.REAR_END: "wet_or_soiled"})
            for hours in (20, 30)
        ]
        return max(each.level for each in answer_findings(recovery(case, seen))).word

    assert (twice(DOE), twice(PIG)) == ("urgent", "monitor")
    assert level(DOE, 20, rear_end="wet_or_soiled") == "monitor"


def test_the_worse_of_two_answers_within_half_an_hour_stands_and_a_later_one_settles_it():
    def after(minutes: int) -> str:
        first = PIG.surgery_ended_at + dt.timedelta(hours=30)
        seen = [
            Observation(at=first, answers={Question.DEMEANOUR: "collapsed"}),
            Observation(at=first + dt.timedelta(minutes=minutes), answers={Question.DEMEANOUR: "bright"}),
        ]
        return max((each.level for each in answer_findings(recovery(PIG, seen))), default=Level.ON_TRACK).word

    assert (after(30), after(31)) == ("emergency", "on_track")


def test_not_checked_and_not_sure_never_replace_a_bad_answer():
    first = PIG.surgery_ended_at + dt.timedelta(hours=5)
    pale = Observation(at=first, answers={Question.GUMS: "pale"})
    vague = Observation(at=first + dt.timedelta(hours=3), answers={Question.GUMS: "not_checked"})

    found = answer_findings(recovery(replace(PIG), [pale, vague]))
    assert max(each.level for each in found) is Level.EMERGENCY
