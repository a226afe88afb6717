"""What owners are asked, in words they know, and what their answers become."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from followup.casefile import BadCase, observation_json, read_observation
from followup.domain.answers import ANSWERS, PainSign, Question, Unsure
from followup.domain.case import DischargeCard
from followup.domain.hours import OwnerHours
from followup.domain.observation import Told
from followup.domain.question_words import Kind
from followup.domain.questions import CORE, NOT_SURE, QUESTIONS, SKIPPED, next_question, question_before, to_ask
from followup.domain.terms import Closure, Observer, Sign, Species
from followup.domain.told import buttons, told_by
from followup.domain.understood import Answered, NotUnderstood, facts_of, grams
from followup.domain.weighing import doubt_about
from followup.domain.wound_words import AS_BEFORE, WORSE
from followup.protocols.load import load
from tests.recoveries import LONDON, at, clock, guinea_pig

HOURS = OwnerHours(LONDON)
SURGERY = at("2025-03-10 10:30")
PIG = guinea_pig()
LEFT_OPEN = replace(PIG, discharge=DischargeCard(closure=Closure.LEFT_OPEN))
BANNED = re.compile(
    r"\b(discharge|faec\w*|fec\w*|demeanou?r|interference|letharg\w*|anorexi\w*|scrot\w*|dehisc\w*|lesion|stool|"
    r"stasis|dyspn\w*|vocalis\w*|normal appetite|score your)\b",
    re.IGNORECASE,
)
EVERY_WORD = [
    (asked.key, text)
    for asked in QUESTIONS.values()
    for text in (asked.words, asked.why, *dict(asked.answers).values())
]


@pytest.mark.parametrize(("key", "words"), EVERY_WORD)
def test_no_word_that_only_vets_use(key, words):
    assert BANNED.search(words) is None, key


@pytest.mark.parametrize(("key", "words"), EVERY_WORD)
def test_sentences_are_short(key, words):
    longest = max(len(sentence.split()) for sentence in re.split(r"[.?!]", words))

    assert longest <= 20, key


def test_every_answer_of_the_case_format_can_be_given_in_words_and_no_other():
    wrong = {
        key: set(dict(asked.answers)) ^ set(ANSWERS[Question(key)])
        for key, asked in QUESTIONS.items()
        if key in set(Question) and set(dict(asked.answers)) != set(ANSWERS[Question(key)])
    }
    assert wrong == {}
    assert set(dict(QUESTIONS["pain_signs"].answers)) == set(PainSign)


def test_everything_that_can_be_not_sure_has_a_question_that_offers_it():
    offered = {asked.unsure for asked in QUESTIONS.values() if asked.unsure is not None}

    assert set(Unsure) - offered == set()


@pytest.mark.parametrize("name", ["guinea_pig_castration", "rabbit_spay"])
def test_every_question_of_the_protocols_that_ship_has_words(name):
    asked = {key for each in load(name).course.question_sets for key in each.questions}

    assert asked - QUESTIONS.keys() == set()


def test_night_droppings_are_asked_of_rabbits_alone():
    def values(species):
        return dict(QUESTIONS["faeces"].answers_for(species))

    assert "night_droppings_left" in values(Species.RABBIT)
    assert "night_droppings_left" not in values(Species.GUINEA_PIG)


def test_an_answer_that_is_not_good_opens_others_right_behind_it():
    asked = to_ask(CORE, {"appetite": ["none"]}, PIG)

    assert asked[:5] == ("demeanour", "appetite", "belly", "pain_signs", "drinking")
    assert asked[-2:] == ("worried", "text")


def test_a_wound_that_is_worse_is_asked_about_in_full_but_not_the_edges_of_one_left_open():
    worse = {"wound": [WORSE]}

    assert "wound.edges" in to_ask(CORE, worse, PIG)
    assert "wound.edges" not in to_ask(CORE, worse, LEFT_OPEN)
    assert "wound.edges" not in to_ask(CORE, {"wound": [AS_BEFORE]}, PIG)


def test_next_and_back_walk_the_same_way():
    given = {"demeanour": ["bright"], "appetite": ["normal"]}

    assert next_question(CORE, given, PIG) == "last_ate_at"
    assert question_before("last_ate_at", CORE, given, PIG) == "appetite"
    assert question_before("demeanour", CORE, given, PIG) is None
    assert next_question(CORE, dict.fromkeys(CORE, (SKIPPED,)), PIG) is None


@pytest.mark.parametrize(
    ("now", "values"),
    [
        # the morning of the operation ended at 12:00, surgery at 10:30: it can have been then, not the evening before
        ("2025-03-10 18:30", "under_2_hours this_afternoon this_morning longer_ago did_not_see"),
        ("2025-03-10 20:45", "under_2_hours this_evening this_afternoon this_morning longer_ago did_not_see"),
        ("2025-03-11 07:30", "under_2_hours last_night yesterday_evening longer_ago did_not_see"),
    ],
)
def test_only_times_that_can_have_been_are_offered(now, values):
    assert [each.value for each in buttons(at(now), HOURS, since=SURGERY)] == values.split()


@pytest.mark.parametrize(
    ("value", "earliest", "latest"),
    [
        ("under_2_hours", "03-11 16:30", "03-11 18:30"),
        ("this_morning", "03-11 07:00", "03-11 12:00"),
        ("yesterday_evening", "03-10 18:00", "03-10 22:00"),
        ("longer_ago", "03-10 10:30", "03-10 18:00"),
        ("14:30", "03-11 14:30", "03-11 14:30"),
        ("21:15", "03-10 21:15", "03-10 21:15"),  # not yet today, so yesterday
    ],
)
def test_what_an_owner_can_tell_becomes_two_bounds(value, earliest, latest):
    when = told_by(value, at("2025-03-11 18:30"), HOURS, since=SURGERY)
    told = when.told if when else None

    assert told is not None
    assert (clock(told.earliest), clock(told.latest)) == (earliest, latest)


def facts(*answers, now="2025-03-11 18:30"):
    answered = [Answered(key, tuple(values), at(now)) for key, *values in answers]
    return facts_of(answered, at=at(now), by=Observer.OWNER, hours=HOURS, since=SURGERY)


def test_both_bounds_are_kept_so_that_hours_without_food_are_never_too_few_nor_too_sure():
    seen = read_observation(facts(("appetite", "none"), ("last_ate_at", "this_morning")))

    assert seen.told[Sign.FOOD] == Told(at("2025-03-11 07:00"), at("2025-03-11 12:00"))
    assert read_observation(observation_json(seen)) == seen


def test_a_later_end_before_the_earlier_one_is_refused():
    told = facts(("last_ate_at", "this_morning")) | {"told_until": {"last_ate_at": "2025-03-11T06:00:00+00:00"}}

    with pytest.raises(BadCase, match=r"told_until\.last_ate_at: is before the time that it ends"):
        read_observation(told)


def test_not_sure_skipped_and_not_seen_are_three_different_things():
    said = facts(("appetite", NOT_SURE), ("warmth", SKIPPED), ("last_ate_at", "did_not_see"), ("wound", AS_BEFORE))

    assert said["not_sure"] == ["appetite"]
    assert said["last_ate_at"] is None
    assert not {"warmth", "wound", "appetite"} & said.keys()


def test_parts_of_the_wound_and_yes_and_no_come_out_as_the_case_format_has_them():
    said = facts(("wound.smell", "yes"), ("wound.bleeding", "spots"), ("pain_signs", "none"), ("weight_g", "0,905 kg"))

    assert said["wound"] == {"smell": True, "bleeding": "spots"}
    assert (said["pain_signs"], said["weight_g"]) == ([], 905.0)
    read_observation(said)


@pytest.mark.parametrize(
    "answer", [("appetite", "lots"), ("hunger", "none"), ("last_ate_at", "soon"), ("weight_g", "x")]
)
def test_what_no_question_offers_is_for_a_person(answer):
    with pytest.raises(NotUnderstood):
        facts(answer)


@pytest.mark.parametrize(
    ("typed", "found"), [("905", 905), ("905 g", 905), ("0.9kg", 900), ("0,9 kg", 900), ("-4", None), ("nan", None)]
)
def test_weights_as_people_type_them(typed, found):
    assert grams(typed) == found


@pytest.mark.parametrize(
    ("typed", "sentences", "may_stand"),
    [
        ("880", None, None),
        ("0.9", 2, False),  # 0.9 g: did you mean 900?
        ("abc", 1, False),
        ("3000", 1, False),  # above 1,600 g
        ("500", 1, True),  # 900 / 500 = 1.8 times
        ("601", None, None),  # 900 / 601 = 1.498 times
    ],
)
def test_a_weight_that_cannot_be_is_asked_again_and_never_converted(typed, sentences, may_stand):
    doubt = doubt_about(typed, last_g=900, plausible=(250, 1600))

    assert (len(doubt.sentences) if doubt else None, doubt.may_stand if doubt else None) == (sentences, may_stand)


def test_a_weight_is_the_only_question_with_a_number():
    assert [key for key, asked in QUESTIONS.items() if asked.kind is Kind.WEIGHT] == ["weight_g"]
