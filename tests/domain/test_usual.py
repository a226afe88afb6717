"""What owners are told is usual, the rules that ship hold on track for just as long."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

import followup.protocols
from followup.domain.answers import PainSign, Question
from followup.domain.observation import Observation, Told
from followup.domain.reading_grade import HARDEST, grade
from followup.domain.terms import Closure, Level, Procedure, Sex, Sign, Species
from followup.domain.triage import triage
from followup.domain.usual import BY_KEY, USUAL, Usual, usual_now
from tests.domain.triage_cases import recovery
from tests.recoveries import guinea_pig

SHIPPED = sorted(
    path.stem
    for path in Path(followup.protocols.__file__).parent.glob("*.toml")
    if not path.stem.startswith("_") and path.stem != "formulary"
)
SPECIES = {each.value: each for each in Species}
MINUTE = dt.timedelta(minutes=1)


def case_for(protocol: str, closure: Closure | None):
    species = next(each for name, each in SPECIES.items() if protocol.startswith(f"{name}_"))
    procedure = Procedure(protocol.removeprefix(f"{species.value}_"))
    grams = 4000 if species in {Species.CAT, Species.DOG} else 900
    sex = Sex.FEMALE if procedure is Procedure.SPAY else Sex.MALE
    case = guinea_pig()
    return replace(
        case,
        procedure=procedure,
        patient=replace(case.patient, species=species, sex=sex, weight_g=grams),
        discharge=replace(case.discharge, closure=closure),
        home_medication=(),
    )


def told(each: Usual, at: dt.datetime) -> Observation:
    """All is well, but for this one answer; what is eaten and left is seen at that moment."""
    key, value = each.answer
    answers = {Question.DEMEANOUR: "bright", Question.APPETITE: "normal", Question.FAECES: "normal"}
    if key != "pain_signs":
        answers[Question(key)] = value
    times = {Sign.FOOD: at, Sign.FAECES: at, Sign.URINE: at}
    return Observation(
        at=at,
        answers=answers,
        told={sign: Told.exactly(moment) for sign, moment in times.items()},
        pain_signs=frozenset({PainSign(value)}) if key == "pain_signs" else None,
    )


@pytest.mark.parametrize("closure", [Closure.LEFT_OPEN, Closure.BURIED])
@pytest.mark.parametrize("protocol", SHIPPED)
def test_what_is_called_usual_is_on_track_by_the_rules(protocol, closure):
    case = case_for(protocol, closure)
    wrong = []
    for each in USUAL:
        for passed in (2 * 60 * MINUTE, each.until - MINUTE):
            now = case.surgery_ended_at + passed
            if each not in usual_now(case, now):
                continue
            verdict = triage(recovery(case, [told(each, now)]), now)
            if verdict.level > Level.ON_TRACK:
                wrong.append((each.key, passed, verdict.level, [found.because for found in verdict.findings]))

    assert wrong == []


def test_at_its_end_it_is_usual_no_more():
    case = guinea_pig()
    for each in usual_now(case, case.surgery_ended_at):
        assert each not in usual_now(case, case.surgery_ended_at + each.until)


def test_something_is_said_of_every_species_on_the_first_day():
    for protocol in SHIPPED:
        case = case_for(protocol, Closure.BURIED)
        assert len(usual_now(case, case.surgery_ended_at)) >= 4, protocol


@pytest.mark.parametrize("each", USUAL, ids=lambda each: each.key)
def test_the_words_are_plain_and_say_when_to_phone_or_tell(each):
    assert "hone" in each.words or "Tell us" in each.words
    assert grade(f"{each.heading}. {each.words}") <= HARDEST
    assert BY_KEY[each.key] is each
