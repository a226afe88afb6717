"""Each kind of rule explained: which facts a finding rests on, and what would have made it lower. Figures by hand."""

from __future__ import annotations

from dataclasses import replace

from followup.domain.answers import PainSign
from followup.domain.explaining import explain
from followup.domain.parts import PARTS
from followup.domain.pictures import PICTURES
from followup.domain.rules import Step
from followup.domain.terms import Level, Observer, Species
from followup.domain.triage import triage
from tests.domain.every_case import case_of
from tests.domain.explained import CAT, GOOD, PIG, grounds, lower, of
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import rabbit


def test_an_answer_and_the_answers_and_hours_that_would_give_less():
    dull = of("dull", [seen("11 12:00", appetite="normal", demeanour="dull")], "11 12:00")

    assert grounds(dull) == [
        ("How is the behaviour of Pip?", "Dull: takes little notice, hardly moves", "11 12:00", "owner")
    ]
    assert lower(dull) == [
        ("answered “Bright and interested, as usual” or “A bit quieter than usual” instead", "on_track"),
        ("seen before 24 h after surgery", "monitor"),
    ]
    assert dull.certainty == "certain: the answers settle it"
    assert "monitor before 24 h after surgery, then urgent" in dull.rule


def test_who_answered_stands_beside_the_answer():
    call = replace(seen("11 12:00", demeanour="dull"), by=Observer.STAFF)

    assert grounds(of("dull", [call], "11 12:00"))[0][3] == "staff"


def test_an_answer_that_gives_less_but_not_nothing_is_named_with_its_level():
    torn = of("tissue_showing", [seen("11 12:00", wound_edges="gaping")], "11 12:00")

    assert lower(torn) == [
        ("answered “A small gap” instead", "urgent"),
        ("answered “Yes, closed” instead", "on_track"),
    ]


def test_another_kind_of_trouble_is_not_called_milder():
    straining = of("straining", [seen("11 12:00", urine="straining")], "11 12:00")

    assert lower(straining) == [("answered “Yes, as usual” instead", "on_track")]
    belly = of("belly_tight", [seen("11 12:00", belly="tight_or_drum")], "11 12:00")
    assert "could not check" not in str(lower(belly))


def test_what_must_stand_beside_an_answer_lowers_it_too():
    ill = [seen("11 12:00", belly="tight_or_drum", demeanour="dull")]
    found = of("belly_tight_and_ill", ill, "11 12:00", CAT)

    assert [each[1] for each in grounds(found)] == ["Tight, like a drum", "Dull: takes little notice, hardly moves"]
    assert ("“Bright and interested, as usual” to “How is the behaviour of Pip?”", "urgent") in lower(found)


def test_twice_running_rests_on_both_answers():
    sore = [seen("11 08:00", rear_end="sore"), seen("11 18:30", rear_end="sore")]
    found = of("rear_end_dirty_again", sore, "11 18:30", rabbit())

    assert [each[2] for each in grounds(found)] == ["11 08:00", "11 18:30"]
    assert lower(found) == [("answered “Clean and dry” instead", "on_track")]


def test_a_seizure_is_lowered_by_a_person_alone():
    found = of("seizure", [seen("11 08:00", seizure="yes"), seen("11 18:30", seizure="no")], "11 18:30")

    assert lower(found) == [("a person has reviewed it", "on_track")]


def test_pain_signs():
    shown = [seen("12 12:00", pain=["hiding", "fluffed_coat", "trembling"], **GOOD)]

    several = of("several_weak_pain_signs", shown, "12 12:00")
    assert grounds(several)[0][1] == "Hides more than usual, Coat fluffed up, Trembles"
    assert lower(several) == [
        ("only 1 of: Hides more than usual, Coat fluffed up", "monitor"),
        ("none of: Hides more than usual, Coat fluffed up", "on_track"),
        ("seen before 48 h after surgery", "monitor"),
    ]
    strong = of("strong_pain_sign", shown, "12 12:00")
    assert lower(strong) == [("none of: Trembles", "on_track"), ("seen before 24 h after surgery", "monitor")]


def test_the_same_level_is_not_named_twice():
    few = [seen("10 20:00", pain=["hiding", "fluffed_coat"], **GOOD)]

    assert lower(of("several_weak_pain_signs", few, "10 20:00")) == [
        ("only 1 of: Hides more than usual, Coat fluffed up", "on_track")
    ]


def test_other_signs_keep_what_they_give():
    whole = recovery(PIG, [seen("12 12:00", pain=["hiding", "trembling"], **GOOD)])
    rule = whole.rules.pain[0]
    pain = (
        replace(rule, code="a", signs=frozenset({PainSign.HIDING}), steps=(Step(Level.URGENT),)),
        replace(rule, code="b", signs=frozenset({PainSign.HIDING, PainSign.TREMBLING}), steps=(Step(Level.MONITOR),)),
    )
    whole = replace(whole, rules=replace(whole.rules, pain=pain))
    verdict = triage(whole, when("12 12:00"))
    found = explain(whole, verdict, None).findings[[each.rule for each in verdict.findings].index("a")]

    assert lower(found) == [("none of: Hides more than usual", "monitor")]


def test_vomits():
    twice = [seen("10 18:30", vomits=2, **GOOD)]

    found = of("vomiting_again", twice, "10 18:30", CAT)
    assert grounds(found)[0][1] == "2 times"
    assert lower(found) == [("one vomit only", "monitor"), ("no vomiting", "on_track")]


def test_not_sure():
    found = of("not_sure_demeanour", [seen("11 12:00", unsure=["demeanour"])], "11 12:00")

    assert grounds(found) == [("How is the behaviour of Pip?", "I am not sure", "11 12:00", "owner")]
    assert lower(found) == [("a good answer to “How is the behaviour of Pip?”", "on_track")]
    assert found.certainty.startswith("possible")


def test_weight_in_grams():
    """900 g: 5 per cent is 855 g, 10 per cent 810 g."""
    found = of("weight_loss", [seen("12 12:00", weight=805, **GOOD)], "12 12:00")

    assert [each[:2] for each in grounds(found)][-1] == ("What does Pip weigh, in grams?", "805 g")
    assert lower(found) == [("a weight above 810 g", "monitor"), ("a weight above 855 g", "on_track")]


def test_a_clock_names_the_times_after_which_it_would_be_less():
    """At 21:20 six hours without food are reached unless there was some after 15:20."""
    found = of("hours_without_food", [seen("10 18:30", appetite="none", ate="10 14:00")], "10 21:20")

    assert grounds(found) == [
        ("Last food", "seen, or told of", "10 15:00", "clinic"),
        ("Has Pip eaten anything since the last time?", "Nothing", "10 18:30", "owner"),
    ]
    assert lower(found) == [("food after Mon 10 Mar 15:20", "on_track")]
    assert "urgent from 6 h, emergency from 12 h" in found.rule


def test_a_clock_with_two_limits_names_both():
    found = of("hours_without_food", [seen("11 07:30", appetite="none", ate="10 18:00")], "11 08:00")

    assert lower(found) == [("food after Mon 10 Mar 20:00", "urgent"), ("food after Tue 11 Mar 02:00", "on_track")]


def test_a_ferret_that_is_dull_would_have_longer():
    ferret = case_of(Species.FERRET, PIG.procedure)
    found = of("hours_without_food", [seen("11 12:00", appetite="none", ate="11 07:00", demeanour="dull")], "11 12:00",
               ferret)  # fmt: skip

    assert ("“Bright and interested, as usual” to “How is the behaviour of Pip?”", "on_track") in lower(found)


def test_a_picture_falls_with_any_part_that_it_cannot_do_without():
    ill = [seen("11 18:30", appetite="none", ate="11 12:00", faeces="normal", demeanour="dull", pain=[])]

    found = of("stasis_picture", ill, "11 18:30")
    assert lower(found) == [
        ("food after Tue 11 Mar 12:30", "on_track"),
        ("“Bright and interested, as usual” to “How is the behaviour of Pip?”", "on_track"),
    ]


def test_a_picture_that_is_only_possible_rests_on_its_clock_all_the_same():
    unsure = [seen("11 12:00", **GOOD), seen("11 18:30", unsure=["appetite"], demeanour="dull")]

    found = of("stasis_picture", unsure, "11 18:31")
    assert found.certainty.startswith("possible")
    assert ("Has Pip eaten anything since the last time?", "I am not sure", "11 18:30", "owner") in grounds(found)


def test_a_picture_of_three_facts_needs_two_of_them_otherwise():
    pale = [seen("10 18:30", gums="pale", demeanour="dull", warmth="cold_all_over")]

    found = of("bleeding_picture", pale, "10 18:30", CAT)
    assert len(found.grounds) == 3
    assert [words.count(" and ") >= 1 for words, _ in lower(found)] == [True, True, True]


def test_the_parts_of_every_picture_are_known_here():
    assert PARTS.keys() == PICTURES.keys()
