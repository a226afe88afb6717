"""Silence of cats, dogs, ferrets and rats; steps, words and calls of every species. Clinical defaults, 5."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from followup.domain.case import Case, Patient, VetSaid
from followup.domain.silence import heard_state, never_heard_from, next_step, unanswered
from followup.domain.terms import Concern, Level, Observer, Procedure, Sex, Species
from followup.domain.triage import triage
from tests.domain.triage_cases import clock, recovery, seen, verdict, when
from tests.recoveries import guinea_pig

PIG = guinea_pig()
FINE: dict[str, Any] = {"appetite": "normal", "faeces": "normal", "demeanour": "bright"}
FIRST_EVENING = [seen("10 18:40", **FINE), seen("10 20:50", **FINE)]


def silence(found) -> str:
    return max((each.level for each in found.findings if each.concern is Concern.SILENCE), default=Level.ON_TRACK).word


def patient(species: Species, *, procedure: Procedure = Procedure.SPAY, **changes) -> Case:
    """Operated 10:00 to 11:00 on Monday 10 March, home at 16:00, nothing prescribed."""
    case = guinea_pig(home_medication=())
    of = Patient(species, {"dog": 12000, "cat": 4000, "ferret": 1100, "rat": 400}.get(species, 2400), sex=Sex.FEMALE)
    return replace(case, patient=of, procedure=procedure, **changes)


DOG = patient(Species.DOG)
FIRST = seen("10 18:40", **FINE)


@pytest.mark.parametrize("species", [Species.CAT, Species.DOG, Species.FERRET, Species.RAT])
def test_day_0_of_the_others_waits_12_hours_and_is_urgent_since_nobody_was_ever_heard(species):
    """18:30 and 12 h is 06:30, asleep: the answer is due at waking, 07:00."""
    case = patient(species)

    assert silence(verdict(case, [], "10 22:00")) == "on_track"  # no "first evening" for these
    assert silence(verdict(case, [], "11 06:59")) == "on_track"
    assert silence(verdict(case, [], "11 07:00")) == "urgent"


@pytest.mark.parametrize(
    ("observations", "now", "level"),
    [
        # day 1, 07:30 and 18:30; last answer good: monitor at answer_by, two running urgent
        ([FIRST], "11 19:29", "on_track"),
        ([FIRST], "11 19:30", "monitor"),
        ([FIRST], "12 07:00", "urgent"),
        # the last answer raised more than monitor: urgent at once
        ([seen("10 18:40", **FINE | {"demeanour": "collapsed"})], "11 19:30", "urgent"),
        # later than 72 h (13 March 10:30): 24 h; the evening of day 3 lies there
        ([FIRST, seen("12 18:40", **FINE)], "14 18:29", "on_track"),
        ([FIRST, seen("12 18:40", **FINE)], "14 18:30", "monitor"),
        ([FIRST, seen("12 18:40", **FINE)], "16 18:30", "urgent"),  # day 5 as well: two running
        # later, even after an answer that was not good, one alone is monitor
        ([FIRST, seen("12 18:40", **FINE | {"breathing": "laboured"})], "14 18:30", "monitor"),
    ],
)
def test_each_row_of_a_dog(observations, now, level):
    assert silence(verdict(DOG, observations, now)) == level


def test_an_answer_is_not_good_when_a_medicine_makes_it_urgent():
    """Not eating with an anti-inflammatory due at 10:00 is urgent by the medicine's own rule."""
    told = [*FIRST_EVENING, seen("11 07:30", appetite="none", ate="11 07:00", faeces="normal", demeanour="bright")]
    with_it, without = guinea_pig(), guinea_pig(home_medication=())

    assert silence(verdict(with_it, told, "12 07:00")) == "urgent"
    assert silence(verdict(without, told, "12 07:00")) == "monitor"


def test_one_answer_answers_every_earlier_open_check_in():
    known = recovery(PIG, [seen("11 18:35", **FINE)])

    assert len(unanswered(recovery(PIG, []), when("11 18:40"))) == 4
    assert unanswered(known, when("11 18:40")) == ()
    assert heard_state(known, when("11 18:40")).state.value == "heard"


@pytest.mark.parametrize(
    "said", [{"appetite": "none"}, {"ate": "10 18:00"}, {"unsure": ["appetite"]}], ids=["appetite", "time", "not sure"]
)
@pytest.mark.parametrize("by", list(Observer))
def test_whoever_answers_about_eating_answers(said, by):
    told = replace(seen("10 18:40", **said), by=by)

    assert not unanswered(recovery(PIG, [told]), when("10 18:50"))


@pytest.mark.parametrize(
    "alone", [{"weight": 890}, {"faeces": "normal"}, {"worried": "no"}, {"unsure": ["faeces"]}], ids=str
)
def test_anything_else_alone_leaves_it_open(alone):
    assert unanswered(recovery(PIG, [seen("10 18:40", **alone)]), when("10 18:50"))


def test_a_call_spares_what_is_due_within_six_hours_and_no_more():
    """Bedtime at 20:45: a call at 14:45 spares it, one at 14:44 does not. An owner's own answer spares one hour."""
    for told, spared in (("10 14:45", True), ("10 14:44", False)):
        call = replace(seen(told, **FINE), by=Observer.STAFF)
        home = replace(PIG, discharged_at=when("10 12:00"))
        assert (not unanswered(recovery(home, [call]), when("10 20:45"))) is spared, told


@pytest.mark.parametrize(
    ("now", "rule", "words", "first"),
    [
        ("11 09:59", "silence", "first evening, no word: no answer since Mon 18:30", False),
        ("11 10:00", "silence", "first evening, no word: no answer since Mon 18:30", False),
        ("11 14:00", "silence_a_vet_decides", "a vet decides", False),
        ("11 17:59", "silence_a_vet_decides", "a vet decides", False),
        ("11 18:00", "silence_never_heard_from", "never heard from", True),
        ("13 12:00", "silence_never_heard_from", "never heard from", True),
    ],
)
def test_the_first_morning_goes_on_to_a_vet_and_then_stands_first(now, rule, words, first):
    known = recovery(PIG, [])
    (found,) = [each for each in verdict(PIG, [], now).findings if each.concern is Concern.SILENCE]

    assert (found.rule, found.level) == (rule, Level.URGENT)
    assert words in found.because
    assert never_heard_from(known, when(now)) is first


def test_the_steps_of_the_first_morning_have_their_moments():
    known = recovery(PIG, [])

    moments = ("10 22:00", "11 10:00", "11 11:30", "11 14:00", "11 18:00")
    assert [clock(next_step(known, when(now))) for now in moments] == [
        "11 07:00", "11 11:30", "11 14:00", "11 18:00", "12 07:00",
    ]  # fmt: skip
    assert clock(next_step(recovery(DOG, []), when("11 08:00"))) == "11 19:30"
    assert clock(next_step(recovery(PIG, [seen("11 08:00", **FINE)]), when("11 08:10"))) == "12 07:00"
    last = seen("22 18:40", **FINE)  # day 12, the last that counts as silence
    assert next_step(recovery(PIG, [last]), when("22 18:50")) is None


@pytest.mark.parametrize("ended_by", ["an answer", "a vet's word"])
def test_first_on_every_list_until_a_person_has_an_answer(ended_by):
    said = VetSaid(at=when("11 18:20"), look_again_at=when("12 09:00"))
    case = replace(PIG, vet_said=(said,)) if ended_by == "a vet's word" else PIG
    answers = [seen("11 18:20", **FINE)] if ended_by == "an answer" else []

    assert never_heard_from(recovery(PIG, []), when("11 18:30"))
    assert not never_heard_from(recovery(case, answers), when("11 18:29"))


def test_a_call_that_was_reviewed_opens_again_with_the_next_unanswered_check_in():
    """The finding rests on the newest check-in without an answer: a review covers only what was there then."""
    since = [
        next(each.since for each in verdict(PIG, [], now).findings if each.concern is Concern.SILENCE)
        for now in ("10 22:00", "11 10:00", "12 07:00")
    ]
    assert [clock(each) for each in since] == ["10 20:45", "11 07:30", "11 18:30"]


def test_what_could_not_be_asked_says_so_on_the_first_evening_and_among_others():
    whole = recovery(PIG, [])
    first, second = [each.at for each in whole.check_ins if each.day == 0]

    def because(unasked) -> str:
        found = triage(replace(whole, unasked=frozenset(unasked)), when("10 22:00"))
        return next(each.because for each in found.findings if each.concern is Concern.SILENCE)

    assert because([]) == "first evening, no word: no answer since Mon 18:30"
    assert because([first, second]) == "first evening, no word: could not be asked since Mon 18:30"
    assert because([second]) == "first evening, no word: no answer since Mon 18:30, 1 could not be asked"
