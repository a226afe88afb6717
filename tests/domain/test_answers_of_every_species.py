"""The rows of section 4 where species differ, for all six and each operation that they name.

A level before the bar holds for what was seen before the hour named after it: "monitor 48 urgent". Clocks, silence and
nights have tables of their own.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from followup.domain.answer_rules import answer_findings
from followup.domain.answers import Question
from followup.domain.case import DischargeCard, GivenInClinic
from followup.domain.observation import DoseReport, Observation
from followup.domain.terms import Approach, Closure, DoseOutcome, Level, Procedure, Species
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery
from tests.recoveries import meloxicam

GRAZERS, CARNIVORES = ("guinea_pig", "rabbit"), ("cat", "dog")
SMALL = (*GRAZERS, "ferret", "rat")
EVERY = (*SMALL, *CARNIVORES)


def seen_at(case, hours: float, vomits: int | None = None, **answers: str) -> str:
    at = case.surgery_ended_at + dt.timedelta(hours=hours)
    given = {Question(key.replace("wound_", "wound.")): value for key, value in answers.items()}
    found = answer_findings(recovery(case, [Observation(at=at, answers=given, vomits=vomits)]))
    return max((each.level for each in found), default=Level.ON_TRACK).word


def check(case, steps: str, **answers) -> None:
    """Each level holds up to the hour behind it and not at it."""
    words = steps.split()
    levels, ends = words[::2], [float(each) for each in words[1::2]]
    for level, end in zip(levels, ends, strict=False):
        assert seen_at(case, end - 1 / 60, **answers) == level, f"{case.patient.species}, just before {end} h"
    assert seen_at(case, (ends[-1] if ends else 1), **answers) == levels[-1], f"{case.patient.species}, last step"
    assert seen_at(case, 300, **answers) == levels[-1], f"{case.patient.species}, day 12"


OTHERS_EAT = "on_track 24 monitor 72 urgent"
ROWS = [
    (EVERY, {"demeanour": "collapsed"}, "emergency"),
    (EVERY, {"demeanour": "dull"}, "monitor 24 urgent"),
    (EVERY, {"demeanour": "quiet"}, "on_track 48 monitor"),
    (EVERY, {"breathing": "laboured"}, "emergency"),
    (EVERY, {"breathing": "fast"}, "monitor"),
    (EVERY, {"gums": "pale"}, "emergency"),
    (EVERY, {"gums": "blue"}, "emergency"),
    (EVERY, {"seizure": "yes"}, "emergency"),
    (GRAZERS, {"belly": "tight_or_drum"}, "emergency"),
    (("cat", "dog", "ferret", "rat"), {"belly": "tight_or_drum"}, "urgent"),
    (("cat", "dog", "ferret", "rat"), {"belly": "tight_or_drum", "demeanour": "dull"}, "emergency"),
    (("cat", "dog", "ferret", "rat"), {"belly": "tight_or_drum", "vomits": 1}, "emergency"),
    (GRAZERS, {"belly": "swollen"}, "urgent"),
    (("cat", "dog", "ferret", "rat"), {"belly": "swollen"}, "monitor"),
    (SMALL, {"warmth": "cold_all_over"}, "emergency"),
    (CARNIVORES, {"warmth": "cold_all_over"}, "urgent"),
    (CARNIVORES, {"warmth": "cold_all_over", "demeanour": "dull"}, "emergency"),
    (GRAZERS, {"warmth": "cool_ears_feet"}, "monitor 12 urgent"),
    (("cat", "dog", "ferret", "rat"), {"warmth": "cool_ears_feet"}, "monitor"),
    (GRAZERS, {"mouth": "wet_chin"}, "urgent"),
    (("cat", "dog", "ferret", "rat"), {"mouth": "wet_chin"}, "monitor"),
    (GRAZERS, {"mouth": "drops_food"}, "urgent"),
    (("cat", "dog", "ferret", "rat"), {"mouth": "drops_food"}, "monitor"),
    (EVERY, {"mouth": "bleeding"}, "urgent"),
    (SMALL, {"balance": "wobbly"}, "monitor 12 urgent"),
    (CARNIVORES, {"balance": "wobbly"}, "monitor 24 urgent"),
    (EVERY, {"balance": "head_tilt"}, "urgent"),
    (EVERY, {"balance": "hind_legs_weak"}, "urgent"),
    (EVERY, {"balance": "rolling"}, "emergency"),
    (EVERY, {"urine": "straining"}, "emergency"),
    (("rabbit",), {"urine": "bloody"}, "monitor"),
    (("guinea_pig", "cat", "dog", "ferret", "rat"), {"urine": "bloody"}, "urgent"),
    (EVERY, {"urine": "little"}, "monitor"),
    (("cat", "dog", "ferret"), {"vomits": 1}, "monitor 24 urgent"),
    (("cat", "dog", "ferret"), {"vomits": 2}, "urgent"),
    (("guinea_pig", "rabbit", "rat"), {"vomits": 1}, "urgent"),
    (EVERY, {"vomits": 0}, "on_track"),
    (GRAZERS, {"appetite": "less"}, "monitor 48 urgent"),
    (("cat", "dog", "rat"), {"appetite": "less"}, OTHERS_EAT),
    (("ferret",), {"appetite": "less"}, "monitor 24 urgent"),
    (GRAZERS, {"appetite": "a_few_bites"}, "monitor 48 urgent"),
    (("cat", "dog", "rat"), {"appetite": "a_few_bites"}, OTHERS_EAT),
    (("cat", "dog", "rat"), {"appetite": "none"}, OTHERS_EAT),
    (("ferret",), {"appetite": "none"}, "monitor 24 urgent"),
    (GRAZERS, {"faeces": "fewer"}, "monitor 48 urgent"),
    (GRAZERS, {"faeces": "none"}, "monitor 48 urgent"),
    (("cat", "dog", "ferret", "rat"), {"faeces": "fewer"}, "on_track"),
    (("cat", "dog", "ferret", "rat"), {"faeces": "none"}, "on_track"),
    (EVERY, {"faeces": "soft"}, "on_track 48 monitor"),
    (("rabbit",), {"faeces": "night_droppings_left"}, "monitor"),
    (GRAZERS, {"faeces": "diarrhoea"}, "urgent"),
    (GRAZERS, {"faeces": "diarrhoea", "demeanour": "dull"}, "emergency"),
    (("cat", "dog", "ferret", "rat"), {"faeces": "diarrhoea"}, "monitor 48 urgent"),
    (("guinea_pig", "rabbit", "cat", "ferret", "rat"), {"drinking": "none"}, "on_track"),
    (("dog",), {"drinking": "none"}, "monitor"),
    (EVERY, {"drinking": "less"}, "on_track"),
    (EVERY, {"drinking": "more"}, "on_track"),
    (EVERY, {"wound_edges": "gaping"}, "emergency"),
    (EVERY, {"wound_edges": "tissue_showing"}, "emergency"),
    (EVERY, {"wound_edges": "slightly_open"}, "urgent"),
    (EVERY, {"wound_bleeding": "spots"}, "monitor 24 urgent"),
    (EVERY, {"wound_bleeding": "steady_drip"}, "emergency"),
    (EVERY, {"wound_discharge": "clear"}, "on_track 24 monitor 48 urgent"),
    (EVERY, {"wound_discharge": "blood_tinged"}, "on_track 24 monitor 48 urgent"),
    (EVERY, {"wound_discharge": "pus"}, "urgent"),
    (EVERY, {"wound_smell": "yes"}, "urgent"),
    (EVERY, {"wound_redness": "mild"}, "on_track 168 monitor"),
    (EVERY, {"wound_redness": "spreading"}, "urgent"),
    (EVERY, {"wound_swelling": "mild"}, "on_track 168 monitor"),
    (EVERY, {"wound_swelling": "growing"}, "urgent"),
    (SMALL, {"wound_swelling": "soft_bulge"}, "emergency"),
    (CARNIVORES, {"wound_swelling": "soft_bulge"}, "urgent"),
    (CARNIVORES, {"wound_swelling": "soft_bulge", "vomits": 1}, "emergency"),
    (SMALL, {"wound_interference": "some"}, "on_track 72 monitor"),
    (CARNIVORES, {"wound_interference": "some"}, "monitor"),
    (EVERY, {"wound_interference": "constant"}, "urgent"),
    (EVERY, {"stitches": "some_missing"}, "urgent 192 monitor"),
    (EVERY, {"stitches": "some_missing", "wound_edges": "slightly_open"}, "urgent"),
    (EVERY, {"stitches": "none_to_see"}, "on_track"),
    (SMALL, {"scrotum_or_groin": "soft_bulge"}, "emergency"),
    (CARNIVORES, {"scrotum_or_groin": "soft_bulge"}, "urgent"),
    (EVERY, {"scrotum_or_groin": "mild_swelling"}, "monitor"),
    (EVERY, {"scrotum_or_groin": "marked_swelling"}, "urgent"),
    (EVERY, {"vulva": "bleeding"}, "urgent"),
    (EVERY, {"vulva": "bleeding", "demeanour": "dull"}, "emergency"),
    (EVERY, {"vulva": "bleeding", "warmth": "cold_all_over"}, "emergency"),
    (GRAZERS, {"collar": "cannot_eat_or_drink"}, "urgent"),
    (("cat", "dog", "ferret", "rat"), {"collar": "cannot_eat_or_drink"}, "monitor"),
    (EVERY, {"collar": "off_by_itself", "wound_interference": "some"}, "urgent"),
    (EVERY, {"collar": "none"}, "on_track"),
    (EVERY, {"rear_end": "maggots_or_eggs"}, "emergency"),
    (EVERY, {"rear_end": "sore"}, "monitor"),
    (EVERY, {"company": "fighting"}, "monitor"),
    (EVERY, {"company": "fighting", "wound_edges": "slightly_open"}, "urgent"),
    (EVERY, {"worried": "a_little"}, "monitor"),
    (EVERY, {"worried": "very"}, "urgent"),
    (EVERY, {"worried": "no"}, "on_track"),
]


@pytest.mark.parametrize(("who", "answers", "steps"), ROWS, ids=lambda value: str(value).replace(" ", ""))
def test_a_row_of_the_table(who, answers, steps):
    for species in who:
        check(case_of(Species(species), Procedure.MASS_REMOVAL), steps, **answers)


@pytest.mark.parametrize("species", EVERY)
@pytest.mark.parametrize(
    ("procedure", "answers", "steps"),
    [
        (Procedure.DENTAL, {"mouth": "drops_food"}, "monitor 48 urgent"),
        (Procedure.DENTAL, {"mouth": "bleeding"}, "monitor 24 urgent"),
        (Procedure.CASTRATION, {"scrotum_or_groin": "mild_swelling"}, "on_track 120 monitor"),
        (Procedure.CASTRATION, {"wound_interference": "some"}, "on_track 72 monitor"),
        (Procedure.CASTRATION, {"contact_with_females": "yes"}, "monitor"),
        (Procedure.SPAY, {"contact_with_females": "yes"}, "on_track"),
        (Procedure.SPAY, {"vulva": "spots"}, "monitor 72 urgent"),
        (Procedure.MASS_REMOVAL, {"vulva": "spots"}, "on_track"),
    ],
)
def test_a_row_that_asks_for_the_operation(species, procedure, answers, steps):
    check(case_of(Species(species), procedure), steps, **answers)


@pytest.mark.parametrize(("species", "days"), [*((each, 42) for each in EVERY if each != "dog"), ("dog", 30)])
def test_females_are_kept_away_until_their_date(species, days):
    case = case_of(Species(species), Procedure.CASTRATION)

    assert seen_at(case, days * 24 - 0.1, contact_with_females="yes") == "monitor"
    assert seen_at(case, days * 24, contact_with_females="yes") == "on_track"


@pytest.mark.parametrize("species", EVERY)
def test_a_wound_left_open_or_a_way_through_the_scrotum_may_stay_wet_longer(species):
    for card in (DischargeCard(closure=Closure.LEFT_OPEN), DischargeCard(approach=Approach.SCROTAL)):
        case = case_of(Species(species), Procedure.CASTRATION, discharge=card)
        check(case, "on_track 24 monitor 72 urgent", wound_discharge="clear")
    left_open = case_of(Species(species), Procedure.CASTRATION, discharge=DischargeCard(closure=Closure.LEFT_OPEN))
    check(left_open, "on_track 24 monitor 48 urgent", wound_bleeding="spots")
    check(left_open, "on_track", wound_edges="slightly_open")
    check(left_open, "emergency", wound_edges="tissue_showing")


@pytest.mark.parametrize("species", GRAZERS)
def test_droppings_may_be_few_for_three_days_after_a_spay_or_an_opioid(species):
    plain = case_of(Species(species), Procedure.MASS_REMOVAL)
    given = (GivenInClinic("buprenorphine", plain.surgery_ended_at, mg_per_kg=0.03),)
    opioid = case_of(Species(species), Procedure.MASS_REMOVAL, given_in_clinic=given)

    check(case_of(Species(species), Procedure.SPAY), "monitor 72 urgent", faeces="fewer")
    check(opioid, "monitor 72 urgent", faeces="fewer")
    check(opioid, "monitor 72 urgent", faeces="none")
    check(plain, "monitor 48 urgent", faeces="fewer")


def test_a_rabbits_red_urine_counts_more_in_the_days_after_a_spay():
    check(case_of(Species.RABBIT, Procedure.SPAY), "urgent 72 monitor", urine="bloody")


def told(case, question: Question, answer: str, *hours: float):
    start = case.surgery_ended_at
    return recovery(case, [Observation(at=start + dt.timedelta(hours=h), answers={question: answer}) for h in hours])


def worst(found) -> str:
    return max((each.level for each in answer_findings(found)), default=Level.ON_TRACK).word


def test_a_dog_that_drinks_nothing_for_a_day_is_urgent():
    case = case_of(Species.DOG, Procedure.SPAY)

    assert worst(told(case, Question.DRINKING, "none", 8, 31.9)) == "monitor"
    assert worst(told(case, Question.DRINKING, "none", 8, 32)) == "urgent"
    assert worst(told(case_of(Species.CAT, Procedure.SPAY), Question.DRINKING, "none", 8, 32)) == "on_track"


@pytest.mark.parametrize("species", EVERY)
def test_a_collar_that_stops_eating_twice_running_is_urgent(species):
    case = case_of(Species(species), Procedure.SPAY)

    assert worst(told(case, Question.COLLAR, "cannot_eat_or_drink", 8, 20)) == "urgent"


@pytest.mark.parametrize("species", EVERY)
def test_drinking_more_counts_while_an_nsaid_is_at_work(species):
    plain = case_of(Species(species), Procedure.SPAY)
    given = (GivenInClinic("meloxicam", plain.surgery_ended_at + dt.timedelta(hours=2), mg_per_kg=0.2),)
    with_nsaid = case_of(Species(species), Procedure.SPAY, given_in_clinic=given)

    assert seen_at(with_nsaid, 23.9, drinking="more") == "on_track"
    assert seen_at(with_nsaid, 24, drinking="more") == "monitor"
    assert seen_at(with_nsaid, 25.9, drinking="more") == "monitor"
    assert seen_at(with_nsaid, 26, drinking="more") == "on_track"
    assert seen_at(plain, 24, drinking="more") == "on_track"


def test_a_planned_dose_at_home_is_at_work_for_its_interval_whatever_was_told_of_it():
    plain = case_of(Species.GUINEA_PIG, Procedure.CASTRATION)
    case = replace(plain, home_medication=(meloxicam(),))
    first = recovery(case).medication[0].doses[0].at
    hours = (first - case.surgery_ended_at) / dt.timedelta(hours=1)

    assert hours + 23.9 > 24, "later than the first day, in which it is expected"
    assert seen_at(case, hours + 23.9, drinking="more") == "monitor"
    missed = Observation(at=first, dose=DoseReport("meloxicam", DoseOutcome.MISSED))
    more = Observation(at=first + dt.timedelta(hours=23.9), answers={Question.DRINKING: "more"})
    assert "drinking_more" in {each.rule for each in answer_findings(recovery(case, [missed, more]))}
    assert seen_at(replace(plain, home_medication=()), hours + 23.9, drinking="more") == "on_track"


def test_a_fit_stands_whatever_is_answered_later():
    case = case_of(Species.DOG, Procedure.SPAY)
    start = case.surgery_ended_at
    fit, none_since = (
        Observation(at=start + dt.timedelta(hours=hours), answers={Question.SEIZURE: answer})
        for hours, answer in ((8, "yes"), (20, "no"))
    )

    assert worst(recovery(case, [fit, none_since])) == "emergency"
