"""Pain, pictures, vomiting, not sure, medicine and what is asked next, for guinea pig and rabbit."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.acting import is_news
from followup.domain.medicine_rules import held_drugs
from followup.domain.observation import DoseReport, Observation, OtherMedicine
from followup.domain.terms import Certainty, Concern, DoseOutcome, Level, Species
from followup.domain.triage import findings_at
from followup.domain.verdict import Finding
from tests.domain.triage_cases import clock, recovery, seen, verdict, when
from tests.recoveries import guinea_pig, meloxicam, rabbit

PIG = guinea_pig(home_medication=(meloxicam(),))
GOOD: dict[str, Any] = {"appetite": "normal", "faeces": "normal"}


def level_of(rule: str, observations, now: str, case=PIG) -> str:
    found = findings_at(recovery(case, observations).until(when(now)), when(now))
    return max((each.level for each in found if each.rule.startswith(rule)), default=Level.ON_TRACK).word


@pytest.mark.parametrize(
    ("signs", "at", "strong", "weak"),
    [
        (["hunched"], "11 10:00", "monitor", "on_track"),  # 23.5 h
        (["hunched"], "11 10:30", "urgent", "on_track"),  # 24 h
        (["hiding"], "11 10:00", "on_track", "on_track"),
        (["hiding"], "11 10:30", "on_track", "monitor"),
        (["hiding", "fluffed_coat"], "11 10:00", "on_track", "monitor"),
        (["hiding", "fluffed_coat"], "12 10:00", "on_track", "monitor"),  # 47.5 h
        (["hiding", "fluffed_coat"], "12 10:30", "on_track", "urgent"),  # 48 h
    ],
)
def test_pain_signs(signs, at, strong, weak):
    told = [seen(at, pain=signs, **GOOD)]

    assert level_of("strong_pain_sign", told, at) == strong
    worst = max(Level.from_word(level_of(rule, told, at)) for rule in ("weak_pain_sign", "several_weak_pain_signs"))
    assert worst.word == weak


def test_the_stasis_picture_needs_six_hours_and_two_signs_or_a_strong_one():
    def level(pain: list[str], ate: str, at: str = "11 18:30") -> str:
        return level_of("stasis_picture", [seen(at, appetite="none", ate=ate, pain=pain)], at)

    assert level(["hiding", "fluffed_coat"], "11 12:30") == "emergency"
    assert level(["hiding", "fluffed_coat"], "11 12:31") == "on_track"
    assert level(["hiding"], "11 12:30") == "on_track"
    assert level(["trembling"], "11 12:30") == "emergency"
    early = [seen("10 21:30", appetite="none", ate="10 15:30", pain=["trembling"])]  # 11 h after surgery
    assert level_of("stasis_picture", early, "10 21:30") == "urgent"
    dull = [seen("11 18:30", appetite="normal", faeces="none", dropped="11 10:30", demeanour="dull")]
    assert level_of("stasis_picture", dull, "11 18:30") == "emergency"


def test_any_vomiting_in_those_that_cannot_vomit_is_asked_about():
    assert level_of("vomiting", [seen("10 18:30", vomits=1, **GOOD)], "10 18:30") == "urgent"
    assert level_of("vomiting", [seen("10 18:30", vomits=0, **GOOD)], "10 18:30") == "on_track"


@pytest.mark.parametrize(
    ("topic", "at", "level"),
    [
        ("appetite", "10 18:30", "monitor"),
        ("faeces", "10 18:30", "monitor"),
        ("urine", "10 18:30", "on_track"),
        ("urine", "11 18:30", "monitor"),
        ("demeanour", "10 18:30", "monitor"),
        ("breathing", "10 18:30", "monitor"),
        ("wound", "10 18:30", "on_track"),
        ("drinking", "11 18:30", "on_track"),
    ],
)
def test_not_sure_by_itself(topic, at, level):
    assert level_of(f"not_sure_{topic}", [seen(at, unsure=[topic])], at) == level


def test_a_wound_that_could_not_be_seen_twice_running_is_looked_at():
    twice = [seen("10 18:30", unsure=["wound"]), seen("10 20:45", unsure=["wound"])]
    between = [twice[0], seen("10 19:30", wound_edges="closed"), twice[1]]

    assert level_of("not_sure_wound", twice, "10 20:45") == "monitor"
    assert level_of("not_sure_wound", between, "10 20:45") == "on_track"


def test_not_sure_about_behaviour_is_asked_again_in_an_hour_and_about_eating_in_two():
    assert clock(ask_at([seen("10 18:30", unsure=["demeanour"], appetite="normal")], "10 18:30")) == "10 19:30"
    cool = [seen("10 17:30", warmth="cool_ears_feet", appetite="normal")]
    assert ask_at(cool, "10 17:30") is None, "the evening check-in is as soon"


def ask_at(observations, now: str):
    ask = verdict(PIG, observations, now).ask
    return ask.at if ask is not None else None


def test_a_running_clock_is_asked_about_half_an_hour_before_it_rises():
    nothing_home = guinea_pig(home_medication=())
    ask = verdict(nothing_home, [seen("11 12:00", appetite="none", ate="11 08:00", faeces="normal")], "11 12:00").ask

    assert ask is not None
    assert (clock(ask.at), ask.questions) == ("11 13:30", ("appetite", "last_ate_at"))


def dose(text: str, outcome: str, **more: Any) -> Observation:
    return Observation(at=when(text), dose=DoseReport("meloxicam", DoseOutcome(outcome), **more))


def test_two_doses_running_not_taken_are_urgent():
    once = [dose("11 10:30", "spat_out")]
    twice = [*once, dose("12 10:30", "refused")]
    given = [*once, dose("12 10:30", "given")]

    assert level_of("missed_", once, "11 11:00") == "on_track"
    assert level_of("missed_", twice, "12 11:00") == "urgent"
    assert level_of("missed_", given, "12 11:00") == "on_track"


@pytest.mark.parametrize(
    ("answers", "held"),
    [
        ({"appetite": "none"}, True),
        ({"appetite": "a_few_bites"}, True),
        ({"appetite": "normal", "faeces": "diarrhoea"}, True),
        ({"appetite": "normal", "drinking": "more"}, True),
        ({"appetite": "normal", "vomits": 1}, True),
        ({"appetite": "normal", "demeanour": "dull"}, False),  # under 24 h
        ({"appetite": "less"}, False),
    ],
)
def test_an_nsaid_waits_for_a_vet_from_three_hours_before_its_time(answers, held):
    told = [seen("10 20:45", **answers)]  # the first dose at home is at 10:00 next morning
    found = recovery(PIG, told)

    assert held_drugs(found, when("11 06:59")) == ()
    assert held_drugs(found, when("11 07:00")) == (("meloxicam",) if held else ())
    assert level_of("held_", told, "11 07:00") == ("urgent" if held else "on_track")


def test_a_held_dose_goes_on_once_it_is_reported_or_the_sign_is_answered_well():
    bad = seen("10 20:45", appetite="none")

    assert held_drugs(recovery(PIG, [bad, seen("11 07:30", appetite="normal")]), when("11 08:00")) == ()
    assert held_drugs(recovery(PIG, [bad, dose("11 08:00", "given")]), when("11 09:00")) == ()


@pytest.mark.parametrize(
    ("times", "level"), [(1.0, "on_track"), (1.1, "monitor"), (1.5, "urgent"), (2.9, "urgent"), (3.0, "emergency")]
)
def test_more_than_planned(times, level):
    planned = recovery(PIG).medication[0].doses[0].ml
    assert planned is not None

    assert level_of("mishap_", [dose("11 10:00", "given", ml=float(planned) * times)], "11 10:05") == level


def test_into_the_lungs_or_a_painkiller_for_people_is_an_emergency():
    assert level_of("mishap_", [dose("11 10:00", "went_wrong", route_wrong=True)], "11 10:05") == "emergency"
    ours = Observation(at=when("11 10:00"), other_medicine=OtherMedicine("half a Paracetamol tablet"))
    assert level_of("human_painkiller", [ours], "11 10:05") == "emergency"


@pytest.mark.parametrize(("grams", "level"), [(856, "on_track"), (855, "monitor"), (810, "urgent"), (765, "emergency")])
def test_the_weight_bands_of_a_guinea_pig_of_900_g(grams, level):
    assert level_of("weight_loss", [seen("12 07:30", weight=grams)], "12 07:30") == level


@pytest.mark.parametrize(
    ("now", "level"),
    [("10 19:00", "on_track"), ("10 22:59", "on_track"), ("11 05:00", "urgent"), ("11 11:00", "emergency")],
)
def test_droppings_of_a_rabbit_told_to_be_missing_since_surgery(now, level):
    told = [seen("10 18:45", appetite="normal", faeces="normal", dropped="10 18:00")]
    none = [seen("10 18:45", appetite="normal", faeces="none")]  # nothing since surgery at 11:00; known 17:00 at least

    assert level_of("hours_without_faeces", told, now, rabbit()) == "on_track"
    case = replace(rabbit(), last_faeces_before_discharge_at=None)
    found = level_of("hours_without_faeces", none, now, case)
    assert found == {"10 19:00": "monitor", "10 22:59": "monitor"}.get(now, level)


def test_silence_is_the_only_concern_of_a_patient_nobody_has_heard_of():
    assert {each.concern for each in verdict(PIG, [], "11 12:00").findings} == {Concern.SILENCE}


def test_not_sure_about_behaviour_counts_at_once_in_a_cat_and_about_eating_from_a_day():
    cat = replace(PIG, patient=replace(PIG.patient, species=Species.CAT, weight_g=4000))

    assert level_of("not_sure_demeanour", [seen("10 12:00", unsure=["demeanour"])], "10 12:00", cat) == "monitor"
    assert level_of("not_sure_appetite", [seen("11 10:29", unsure=["appetite"])], "11 10:29", cat) == "on_track"
    assert level_of("not_sure_appetite", [seen("11 10:30", unsure=["appetite"])], "11 10:30", cat) == "monitor"


@pytest.mark.parametrize(
    ("level", "since", "news"),
    [("urgent", "10 19:00", False), ("emergency", "10 19:00", True), ("urgent", "10 19:11", True)],
)
def test_what_a_review_has_not_covered_is_a_higher_level_or_a_newer_fact(level, since, news):
    finding = Finding(
        rule="any",
        concern=Concern.WORRY,
        level=Level.from_word(level),
        certainty=Certainty.CERTAIN,
        because="any",
        source="any",
        since=when(since),
    )

    assert is_news([finding], covered_to=when("10 19:10"), level_then=Level.URGENT) is news
