"""The lists of words: read whole, apart from any protocol, and refused in a sentence that names file and place."""

from __future__ import annotations

import pytest

from followup import checks
from followup.domain.phrases import spellings
from followup.vocabulary.load import FOLDER, NEEDED, BadVocabulary, parse, read, vocabulary

ENGLISH = (FOLDER / "en.toml").read_text(encoding="utf-8")
LINE = ENGLISH[: ENGLISH.index("dangers = [")].count("\n") + 1


def test_what_ships_is_sound_and_speaks_four_languages():
    assert checks.words_are_sound() == []
    assert {each.code for each in vocabulary().languages} >= {"en", "es", "fr", "de"}


def test_it_is_read_once():
    assert vocabulary() is vocabulary()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("dangers = [", 'dangers = ["  ", '), f"en.toml:{LINE}: dangers[0] holds no word that must be there"),
        (("dangers = [", 'dangers = ["blood!", '), "dangers[0] holds 'blood!', which is no word: 'blood!'"),
        (("dangers = [", 'dangers = ["(blood)", '), "dangers[0] holds no word that must be there"),
        (("dangers = [", 'dangers = ["pus", '), "dangers holds 'pus' twice"),
        (("dangers = [", "dangers = [5, "), "dangers[0] must be words"),
        (("reach = 3", 'reach = "three"'), "denials.reach must be a number"),
        (("reach = 3", "reach = 3\nreech = 4"), "denials.reech"),
        (("[missing]", "[misssing]"), "missing.food must hold at least one phrase"),
        (('connectors = ["but"', 'connectors = ["but", "any"'), "denials.connectors and fillers both hold 'any'"),
        (("dangers = [", "dangers = [["), "is not TOML"),
        (("naproxen = [", "naproxenn = ["), "mishaps.painkillers.naproxen must hold at least one phrase"),
    ],
)
def test_what_is_wrong_is_refused_with_its_place(change, said):
    assert change[0] in ENGLISH
    with pytest.raises(BadVocabulary) as refused:
        parse(ENGLISH.replace(change[0], change[1], 1), "en.toml")

    assert str(refused.value).startswith("en.toml")
    assert said in str(refused.value)


def test_an_entry_that_stands_for_too_many_phrases_is_refused():
    many = " ".join(["a/b/c/d/e/f/g/h/i/j"] * 4)
    with pytest.raises(ValueError, match="too many"):
        spellings(many)


def test_a_language_that_is_not_there_is_refused(tmp_path):
    for code in NEEDED[:-1]:
        (tmp_path / f"{code}.toml").write_text((FOLDER / f"{code}.toml").read_text(encoding="utf-8"), encoding="utf-8")

    with pytest.raises(BadVocabulary, match=r"de\.toml: is not in the folder"):
        read(tmp_path)


def test_the_check_says_what_is_wrong_with_a_list(monkeypatch, tmp_path):
    for path in FOLDER.glob("*.toml"):
        (tmp_path / path.name).write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "fr.toml").write_text("dangers = []\n", encoding="utf-8")
    monkeypatch.setattr(checks, "WORDS", tmp_path)

    (fault,) = checks.words_are_sound()
    assert fault.msg == "fr.toml:1: dangers must hold at least one phrase."


@pytest.mark.parametrize(
    ("written", "phrases"),
    [
        ("off (his/her) food", {("off", "food"), ("off", "his", "food"), ("off", "her", "food")}),
        ("isn't", {("isnt",)}),
        ("n'a pas", {("n", "a", "pas"), ("na", "pas")}),
        ("hört", {("hort",), ("hoert",)}),
        ("ice-cold", {("ice", "cold")}),
        ("maggot*", {("maggot*",)}),
    ],
)
def test_one_entry_stands_for_every_way_to_type_it(written, phrases):
    assert set(spellings(written)) == phrases
