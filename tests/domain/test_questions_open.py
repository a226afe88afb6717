"""What an answer that is not good opens, whom a question suits, and what is asked again. Clinical defaults, 4 and 7."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Any

import pytest

from followup.domain.answers import ANSWERS, Question
from followup.domain.asked_again import asked_again
from followup.domain.case import Case, DischargeCard, Patient
from followup.domain.questions import CORE, NOT_SURE, OPENS, QUESTIONS, SKIPPED, to_ask
from followup.domain.suits import suits
from followup.domain.terms import Closure, Company, Procedure, Sex, Species
from followup.domain.told import DID_NOT_SEE, LONGER_AGO
from followup.domain.why_silent import WHY_SILENT
from followup.domain.wound_words import AS_BEFORE, GLANCE, WORSE
from tests.domain.triage_cases import recovery, seen
from tests.recoveries import guinea_pig

WEIGHT = {"guinea_pig": 900, "rabbit": 2400, "cat": 4000, "dog": 12000, "ferret": 1100, "rat": 400}
CARD = DischargeCard(closure=Closure.SKIN_STITCHES, company=Company.BONDED)
ALL = tuple(product(Species, Procedure))


def case_of(species: Species, procedure: Procedure, sex: Sex = Sex.UNKNOWN, card: DischargeCard = CARD) -> Case:
    if sex is Sex.UNKNOWN:
        sex = Sex.FEMALE if procedure is Procedure.SPAY else Sex.MALE
    patient = Patient(species, WEIGHT[species], sex=sex)
    return guinea_pig(patient=patient, procedure=procedure, discharge=card, given_in_clinic=(), home_medication=())


def opened(case: Case, key: str, answer: str) -> set[str]:
    return set(to_ask(CORE, {key: [answer]}, case)) - set(to_ask(CORE, {}, case))


NOT_GOOD = [
    *(("appetite", answer) for answer in ("less", "a_few_bites", "none", NOT_SURE)),
    *(("last_ate_at", answer) for answer in (LONGER_AGO, DID_NOT_SEE)),
    *(("demeanour", answer) for answer in ("quiet", "dull", "collapsed", NOT_SURE)),
    *(("faeces", answer) for answer in ("fewer", "soft", "night_droppings_left", "diarrhoea", "none", NOT_SURE)),
    *(("last_faeces_at", answer) for answer in (LONGER_AGO, DID_NOT_SEE)),
    (GLANCE, WORSE),
    (GLANCE, NOT_SURE),
    *(("worried", answer) for answer in ("a_little", "very")),
]
GOOD = [("appetite", "normal"), ("demeanour", "bright"), ("faeces", "normal"), (GLANCE, AS_BEFORE), ("worried", "no")]


@pytest.mark.parametrize(("key", "answer"), NOT_GOOD)
@pytest.mark.parametrize("species", list(Species))
def test_every_question_of_the_core_list_opens_others_when_its_answer_is_not_good(species, key, answer):
    assert opened(case_of(species, Procedure.SPAY), key, answer)


def test_the_list_above_is_the_whole_core_list():
    """Free words open nothing: a person reads them."""
    assert {key for key, _answer in NOT_GOOD} == set(CORE) - {"text"}
    for question in (Question.APPETITE, Question.DEMEANOUR, Question.FAECES, Question.WORRIED):
        assert set(ANSWERS[question][1:]) == {a for key, a in NOT_GOOD if key == question} - {NOT_SURE}


@pytest.mark.parametrize(("key", "answer"), [*GOOD, *((key, SKIPPED) for key in CORE)])
@pytest.mark.parametrize("species", list(Species))
def test_a_good_answer_and_a_skipped_question_open_nothing(species, key, answer):
    assert opened(case_of(species, Procedure.SPAY), key, answer) == set()


def test_what_is_opened_can_open_more():
    cat = case_of(Species.CAT, Procedure.SPAY)
    asked = to_ask(CORE, {GLANCE: [WORSE], "wound.bleeding": ["steady_drip"]}, cat)

    assert asked[asked.index("wound.bleeding") + 1] == "gums"


def test_dull_opens_every_part_of_the_two_pictures():
    """Bleeding: gums, warmth, belly, breathing. Stasis: food, droppings (core), pain signs. Section 4."""
    for species in Species:
        found = opened(case_of(species, Procedure.SPAY), "demeanour", "dull")
        assert {"warmth", "belly", "breathing", "pain_signs"} <= found
        assert ("gums" in found) is (species in {Species.CAT, Species.DOG})


def test_every_key_that_is_opened_is_a_question_and_every_answer_that_opens_exists():
    for (key, answer), keys in OPENS.items():
        assert set(keys) <= set(QUESTIONS), key
        values = {value for value, _words in QUESTIONS[key].answers} | {NOT_SURE, LONGER_AGO, DID_NOT_SEE}
        assert answer in values, (key, answer)


def suiting(species: Species, procedure: Procedure, sex: Sex = Sex.UNKNOWN, card: DischargeCard = CARD) -> set[str]:
    case = case_of(species, procedure, sex, card)
    return {key for key in QUESTIONS if suits(key, case)}


@pytest.mark.parametrize(("species", "procedure"), ALL)
def test_gums_vomits_vulva_and_scrotum_are_asked_of_whom_they_suit(species, procedure):
    found = suiting(species, procedure)

    assert ("gums" in found) is (species in {Species.CAT, Species.DOG})
    assert ("vomits_since_last" in found) is (species in {Species.CAT, Species.DOG, Species.FERRET})
    assert ("vulva" in found) is (procedure is Procedure.SPAY)
    assert ("scrotum_or_groin" in found) is (procedure is Procedure.CASTRATION)
    assert ("contact_with_females" in found) is (procedure is Procedure.CASTRATION)


@pytest.mark.parametrize("species", list(Species))
def test_no_answer_at_all_brings_a_male_the_question_of_a_female_or_the_other_way_round(species):
    """Every question answered in every way at once: the most that can ever be asked."""
    everything = {key: [value for value, _words in asked.answers] for key, asked in QUESTIONS.items()}
    males = to_ask(tuple(QUESTIONS), everything, case_of(species, Procedure.CASTRATION))
    females = to_ask(tuple(QUESTIONS), everything, case_of(species, Procedure.SPAY))

    assert "vulva" not in males
    assert "scrotum_or_groin" in males
    assert "vulva" in females
    assert not {"scrotum_or_groin", "contact_with_females"} & set(females)


@pytest.mark.parametrize("species", list(Species))
def test_after_a_dental_operation_the_mouth_takes_the_wounds_place(species):
    case = case_of(species, Procedure.DENTAL, card=DischargeCard())
    asked = to_ask(("wound.bleeding", *CORE), {}, case)

    assert "mouth" in asked
    assert not [key for key in asked if key.startswith("wound")]
    assert "stitches" not in suiting(species, Procedure.DENTAL, card=DischargeCard())
    jaw = case_of(species, Procedure.DENTAL, card=DischargeCard(closure=Closure.BURIED))
    assert GLANCE in to_ask(CORE, {}, jaw)


@pytest.mark.parametrize(
    ("closure", "asked"),
    [(Closure.SKIN_STITCHES, True), (Closure.STAPLES, True), (None, True), (Closure.BURIED, False),
     (Closure.GLUE, False), (Closure.LEFT_OPEN, False)],
)  # fmt: skip
def test_stitches_are_asked_about_where_there_are_some_to_see(closure, asked):
    found = suiting(Species.CAT, Procedure.SPAY, card=replace(CARD, closure=closure))

    assert ("stitches" in found) is asked
    assert ("wound.edges" in found) is (closure is not Closure.LEFT_OPEN)


@pytest.mark.parametrize(
    ("company", "asked"), [(Company.ALONE, False), (None, False), (Company.BONDED, True), (Company.GROUP, True)]
)
def test_friends_are_asked_about_where_there_are_some(company, asked):
    assert ("company" in suiting(Species.RABBIT, Procedure.SPAY, card=replace(CARD, company=company))) is asked


@pytest.mark.parametrize("species", list(Species))
def test_why_we_ask_is_true_of_the_species(species):
    small = species in {Species.GUINEA_PIG, Species.RABBIT}

    assert ("within hours" in QUESTIONS["appetite"].why_for(species)) is small
    assert ("within hours" in QUESTIONS["faeces"].why_for(species)) is small


def test_worry_words_and_the_silence_come_last_whatever_was_opened():
    given = {"worried": ["very"], "appetite": ["none"]}
    planned = ("text", WHY_SILENT, "worried", "appetite", "mouth")

    asked = to_ask(planned, given, guinea_pig())

    assert asked[-2:] == ("text", WHY_SILENT)
    assert asked.index("worried") > asked.index("mouth")
    assert len(asked) == len(set(asked))


# Asked again.
FINE: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}


def again(*observations) -> set[str]:
    return set(asked_again(recovery(guinea_pig(), observations)))


BEST = {question: values[0] for question, values in ANSWERS.items()}
STILL_GOOD = {("stitches", "cannot_tell"), ("stitches", "none_to_see"), ("collar", "on"), ("collar", "none"),
              ("company", "alone_and_calling"), ("gums", "not_checked"), ("belly", "not_checked"),
              ("warmth", "not_checked")}  # fmt: skip


@pytest.mark.parametrize(
    ("question", "answer"), [(question, answer) for question, values in ANSWERS.items() for answer in values]
)
def test_every_unfavourable_answer_is_asked_about_again_and_no_other(question, answer):
    given: dict[str, Any] = {question.value.replace(".", "_"): answer}
    told = seen("11 08:00", **given)
    good = answer == BEST[question] or (question.value, answer) in STILL_GOOD

    assert (question.value in again(told)) is not good


def test_it_stands_until_a_newer_answer_and_not_sure_is_none():
    blood = seen("11 08:00", wound_bleeding="spots")

    assert "wound.bleeding" in again(blood, seen("11 18:30", unsure=["wound"], **FINE))
    assert "wound.bleeding" not in again(blood, seen("11 18:30", wound_bleeding="none"))


def test_not_sure_pain_weight_and_when_are_asked_again_too():
    assert {"urine", "last_urine_at"} <= again(seen("11 08:00", unsure=["urine"], **FINE))
    assert "breathing" in again(seen("11 08:00", unsure=["breathing"]))
    assert again(seen("11 08:00", unsure=["drinking", "gums", "stitches", "weight"], **FINE)) == set()
    assert again(seen("11 08:00", pain=["hiding"], **FINE)) == {"pain_signs"}
    assert again(seen("11 08:00", pain=[], **FINE)) == set()
    assert again(seen("11 08:00", weight=855, **FINE)) == {"weight_g"}  # 5 per cent of 900 g
    assert again(seen("11 08:00", weight=856, **FINE)) == set()
    assert again(seen("11 08:00", vomits=1, **FINE)) == {"vomits_since_last"}
    assert again() == set()
