"""Words of owners in four languages: dangers and their denial, and what they add to a verdict."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from followup.domain.observation import Observation
from followup.domain.rules import Rules
from followup.domain.terms import Concern, Level, Species
from followup.domain.triage import triage
from tests.domain.owners_words import LANGUAGES, everything, said, sentences
from tests.domain.triage_cases import protocol, recovery, seen, when
from tests.recoveries import guinea_pig

RAISES, QUIET = everything("raises"), everything("quiet")
BREAKS = st.sampled_from([". ", "! ", "\n", "; ", ", but ", "... "])


@pytest.mark.parametrize("language", LANGUAGES)
def test_there_are_enough_sentences_of_each_kind(language):
    assert len(set(sentences(language, "raises"))) >= 40
    assert len(set(sentences(language, "quiet"))) >= 40


@pytest.mark.parametrize("words", RAISES)
def test_words_that_name_a_danger(words):
    assert said(words).dangers


@pytest.mark.parametrize("words", RAISES)
def test_capitals_make_no_difference(words):
    assert said(words.upper()).dangers


@pytest.mark.parametrize("words", QUIET)
def test_words_that_do_not(words):
    assert said(words) == said("")


@pytest.mark.parametrize(
    ("written", "also"),
    [
        ("isn't eating", "ISN\N{RIGHT SINGLE QUOTATION MARK}T EATING"),
        ("n'arrête pas de saigner", "narrete pas de saigner"),
        ("hört nicht auf zu bluten", "hoert nicht auf zu bluten"),
        ("Zahnfleisch ist weiß", "zahnfleisch ist weiss"),
        ("diarrhée", "diarrhe\N{COMBINING ACUTE ACCENT}e"),
        ("ice cold", "ice-cold"),
        ("¿Come? No", "come? no"),
    ],
)
def test_however_it_is_typed_it_says_the_same(written, also):
    assert bool(said(written).dangers) is bool(said(also).dangers) is True


@pytest.mark.parametrize(
    ("words", "quoted"),
    [
        ("Since noon he isn\N{RIGHT SINGLE QUOTATION MARK}t eating.", "isn't eating"),
        ("Elle n'a rien mangé", "rien mangé"),
        ("er hat nichts gefressen", "nichts gefressen"),
    ],
)
def test_the_reason_quotes_what_was_written(words, quoted):
    assert said(words).dangers[0].words == quoted


@pytest.mark.parametrize(
    ("quiet", "raised"),
    [
        ("no redness, bleeding or pus", "no redness, bleeding and pus"),
        ("no swelling or bleeding", "no swelling, bleeding"),
        ("not bleeding", "not bleeding as much"),
        ("the bleeding has stopped", "the bleeding has not stopped"),
        ("the bleeding has stopped", "the bleeding has stopped but is back"),
        ("Bleeding? No", "Bleeding, no?"),
        ("blood: none", "blood: none of it dry"),
        ("no blood", "no, blood"),
        ("no blood", "no he has blood"),
        ("blutet nicht", "blutet nicht stark"),
        ("kein Blut", "kein Problem, Blut"),
        ("die Wunde blutet nicht", "frisst nicht blutet"),
        ("ne saigne plus", "saigne plus"),
        ("pas de sang", "pas beaucoup de sang"),
        ("no sangra", "no sangra tanto"),
        ("sin sangre", "sin comer sangre"),
        ("ate nothing else, no blood", "ate nothing blood in wee"),
        ("hasn't stopped eating", "has stopped eating"),
        ("not a bad day eating well", "not eating well"),
        ("not breathing heavily", "breathing heavily"),
        ("blood no", "blood no?"),
        ("no blood so far", "no blood so there is pus"),
    ],
)
def test_a_denial_binds_only_what_it_plainly_denies(quiet, raised):
    assert not said(quiet).dangers
    assert said(raised).dangers


@pytest.mark.parametrize("words", ["frisst nicht blutet", "frisst nicht mehr blutet", "il mange pas saigne"])
def test_a_denial_is_used_up_by_the_verb_before_it(words):
    assert words.split()[-1] in {each.words for each in said(words).dangers}


@pytest.mark.parametrize(
    "words", ["не ест, кровь", "食べません", "xyzzy plugh", "🐰🐰", "?!", "-", "\N{COMBINING ACUTE ACCENT}"]
)
def test_what_no_list_knows_says_nothing_here_and_is_read_by_a_person(words):
    assert said(words) == said("")


@given(st.text(max_size=200))
def test_any_text_can_be_read(words):
    for danger in said(words).dangers:
        assert danger.words


@given(st.sampled_from(QUIET), BREAKS, st.sampled_from(RAISES))
def test_a_danger_after_any_quiet_sentence_is_heard(quiet, between, raised):
    assert said(quiet + between + raised).dangers


@given(st.lists(st.sampled_from(QUIET), max_size=4), st.sampled_from([". ", "! ", "\n"]))
def test_quiet_sentences_together_are_quiet(several, between):
    assert not said(between.join(several)).dangers


def verdict_on(*observations: Observation, case=None):
    return triage(recovery(case or guinea_pig(), observations), when("10 20:50"))


GOOD = seen("10 20:45", appetite="normal", faeces="normal", demeanour="bright", wound_bleeding="none")


def test_a_good_form_after_unread_danger_words_does_not_hide_them():
    words = replace(seen("10 18:40"), text="he is bleeding")

    assert verdict_on(words, GOOD).level is Level.URGENT
    assert verdict_on(GOOD).level is Level.ON_TRACK


def test_a_danger_is_one_finding_that_quotes_the_newest_words():
    first, last = replace(seen("10 18:40"), text="hay sangre"), replace(seen("10 19:40"), text="er frisst nicht")

    (found,) = (each for each in verdict_on(first, last, GOOD).findings if each.concern is Concern.WORDS)
    assert (found.rule, found.level, found.since) == ("words_name_a_danger", Level.URGENT, when("10 19:40"))
    assert "“frisst nicht”" in found.because


def test_no_droppings_are_a_danger_where_the_species_passes_some_every_few_hours():
    words = replace(seen("10 18:40"), text="no poo since yesterday")
    dog = guinea_pig(patient=replace(guinea_pig().patient, species=Species.DOG, weight_g=20_000))

    assert verdict_on(words, GOOD).level is Level.URGENT
    assert not [each for each in verdict_on(words, GOOD, case=dog).findings if each.concern is Concern.WORDS]
    assert verdict_on(replace(words, text="isn't eating"), GOOD, case=dog).level is Level.URGENT


def test_a_practice_may_add_words_of_its_own():
    whole = recovery(guinea_pig(), [replace(GOOD, text="the fluffles came")])
    (rule,) = whole.rules.words
    own = replace(whole, rules=replace(whole.rules, words=(replace(rule, phrases=("fluffle/fluffles came",)),)))

    assert triage(whole, when("10 20:50")).level is Level.ON_TRACK
    assert triage(own, when("10 20:50")).level is Level.URGENT


@pytest.mark.parametrize(
    "name", ["guinea_pig_castration", "rabbit_spay", "cat_spay", "dog_castration", "ferret_spay", "rat_dental"]
)
def test_every_species_reads_words(name):
    rules: Rules = protocol(name).rules
    assert [(rule.code, rule.level) for rule in rules.words] == [("words_name_a_danger", Level.URGENT)]


FORMS = st.fixed_dictionaries(
    {},
    optional={
        "appetite": st.sampled_from(["normal", "less", "none"]),
        "faeces": st.sampled_from(["normal", "fewer", "none", "diarrhoea"]),
        "demeanour": st.sampled_from(["bright", "quiet", "dull", "collapsed"]),
        "worried": st.sampled_from(["no", "a_little", "very"]),
    },
)


@given(
    FORMS,
    st.one_of(
        st.sampled_from(RAISES + QUIET),
        st.text(max_size=60),
        st.sampled_from(["He died.", "Ha muerto", "I gave aspirin"]),
    ),
)
def test_words_never_lower_a_level(answers, words):
    form = seen("10 20:45", **answers)

    assert verdict_on(replace(form, text=words)).level >= verdict_on(form).level
