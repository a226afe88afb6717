"""Pictures of several facts beside those of test_other_rules: diarrhoea without food, no stool in an ill cat or dog."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.answers import Question
from followup.domain.observation import Observation, Told
from followup.domain.pictures import picture_findings
from followup.domain.terms import Procedure, Sign, Species
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)


def pictures(species: Species, told: dict[Sign, dt.timedelta], vomits: int = 0, **answers: str) -> dict[str, str]:
    """The pictures five days after surgery; `told`: how long ago each sign was last seen, exactly."""
    case = case_of(species, Procedure.MASS_REMOVAL)
    at = case.surgery_ended_at + 120 * HOUR
    seen = Observation(
        at=at,
        answers={Question(key): value for key, value in answers.items()},
        told={sign: Told.exactly(at - ago) for sign, ago in told.items()},
        vomits=vomits,
    )
    return {each.rule: each.level.word for each in picture_findings(recovery(case, [seen]), at)}


@pytest.mark.parametrize("species", [Species.GUINEA_PIG, Species.RABBIT])
def test_diarrhoea_in_a_small_herbivore_that_has_not_eaten_for_six_hours(species):
    def shown(ago: dt.timedelta, faeces: str = "diarrhoea") -> dict[str, str]:
        return pictures(species, {Sign.FOOD: ago}, appetite="none", faeces=faeces)

    assert shown(6 * HOUR) == {"diarrhoea_and_no_food": "emergency"}
    assert shown(6 * HOUR - MINUTE) == {}
    assert shown(6 * HOUR, "soft") == {}


@pytest.mark.parametrize("species", [Species.FERRET, Species.RAT, Species.CAT, Species.DOG])
def test_diarrhoea_has_no_picture_in_others(species):
    assert pictures(species, {Sign.FOOD: 30 * HOUR}, appetite="none", faeces="diarrhoea") == {}


@pytest.mark.parametrize("species", [Species.CAT, Species.DOG])
def test_no_stool_for_three_days_is_urgent_at_once_with_vomiting_or_a_day_without_food(species):
    def shown(stool: float, food: float, vomits: int = 0) -> dict[str, str]:
        told = {Sign.FAECES: stool * HOUR, Sign.FOOD: food * HOUR}
        return pictures(species, told, vomits, faeces="none", appetite="none")

    assert shown(72, 24) == {"no_stool_and_ill": "urgent"}
    assert shown(72, 1, vomits=1) == {"no_stool_and_ill": "urgent"}
    assert shown(72, 23.9) == shown(71.9, 30) == shown(71.9, 1, vomits=1) == {}


def test_a_picture_is_possible_while_one_of_its_parts_is():
    case = case_of(Species.DOG, Procedure.MASS_REMOVAL)
    at = case.surgery_ended_at + 120 * HOUR
    day = Observation(at=at - 30 * HOUR, answers={Question.APPETITE: "normal"})
    told = {Sign.FAECES: Told.exactly(at - 80 * HOUR)}
    none = Observation(at=at, answers={Question.APPETITE: "none", Question.FAECES: "none"}, told=told)
    (found,) = picture_findings(recovery(case, [day, none]), at)

    assert (found.rule, found.level.word, found.certainty.value) == ("no_stool_and_ill", "monitor", "possible")
