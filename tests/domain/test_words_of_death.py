"""Words that say that an animal has died, in four languages; and an observation that does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from followup.domain.terms import Concern, Level
from followup.domain.triage import triage
from tests.domain.owners_words import said, sentences
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import guinea_pig

GOOD = seen("10 20:45", appetite="normal", faeces="normal", demeanour="bright")


@pytest.mark.parametrize("words", sentences("of_death", "died"))
def test_words_that_say_that_it_has_died(words):
    assert said(words).died


@pytest.mark.parametrize("words", sentences("of_death", "doubted"))
def test_a_death_that_is_feared_pauses_nothing_and_is_a_danger(words):
    assert not said(words).died
    assert said(words).dangers


@pytest.mark.parametrize("words", sentences("of_death", "lives"))
def test_words_that_do_not(words):
    assert said(words) == said("")


def test_unread_words_of_death_pause_and_call_a_person():
    found = triage(recovery(guinea_pig(), [GOOD, replace(seen("10 20:50"), text="He has died.")]), when("10 20:50"))

    assert (found.paused, found.level, found.ask) == ("words_say_died", Level.URGENT, None)
    (finding,) = (each for each in found.findings if each.concern is Concern.WORDS)
    assert (finding.rule, finding.since) == ("words_say_died", when("10 20:50"))
    assert "“died”" in finding.because


def test_words_of_death_hide_no_red_answer():
    words = replace(seen("10 20:45", demeanour="collapsed"), text="He has died.")

    assert triage(recovery(guinea_pig(), [words]), when("10 20:50")).level is Level.EMERGENCY


def test_a_death_is_no_level_and_ends_everything():
    red = seen("10 20:00", demeanour="collapsed", appetite="none")
    before = triage(recovery(guinea_pig(), [red]), when("10 20:50"))
    after = triage(recovery(guinea_pig(), [red, replace(seen("10 20:40"), died=True)]), when("10 20:50"))

    assert before.level is Level.EMERGENCY
    assert (after.paused, after.level, after.findings) == ("died", Level.ON_TRACK, ())
    assert (after.look_again_at, after.next_rise_at, after.ask, after.held_drugs) == (None, None, None, ())


def test_a_death_that_was_not_yet_known_ends_nothing():
    facts = [seen("10 20:00", demeanour="collapsed"), replace(seen("10 21:30"), died=True)]

    assert triage(recovery(guinea_pig(), facts), when("10 20:50")).level is Level.EMERGENCY
