"""The protocols that ship are whole; a broken one is refused in a sentence."""

from __future__ import annotations

import re
from itertools import product

import pytest

from followup.domain.answers import Question
from followup.domain.terms import Procedure, Species
from followup.protocols.load import FOLDER, available, load, merged_text, names, parse
from followup.protocols.load_formulary import FILE, formulary, parse_formulary
from followup.protocols.merging import as_text, merge
from followup.protocols.refusals import BadProtocol


def test_a_protocol_ships_for_every_species_and_procedure():
    assert {(each.species, each.procedure) for each in available()} == set(product(Species, Procedure))
    assert [each.pinned for each in available()] == [f"{name}@{load(name).version}" for name in names()]


@pytest.mark.parametrize("name", names())
def test_the_copy_that_a_plan_keeps_needs_no_other_file(name):
    assert "extends" not in merged_text(name)
    assert parse(merged_text(name)) == load(name)


@pytest.mark.parametrize("name", names())
def test_every_question_is_an_observation_key(name):
    keys = {*Question, "wound", "last_ate_at", "last_faeces_at", "pain_signs", "weight_g", "text"}
    assert {q for each in load(name).course.question_sets for q in each.questions} <= keys


@pytest.mark.parametrize("name", names())
def test_every_part_of_a_course_names_its_source(name):
    course = load(name).course
    parts = [course.answer_within.source, course.feeding.source, course.weight_bands.source]
    parts += [each.source for each in course.question_sets]
    parts += [each.source for each in course.restrictions]
    assert all(source.text for source in parts)


def test_every_row_of_the_formulary_names_its_source():
    found = formulary()
    sources = [each.source for each in found.never]
    sources += [each.source for each in found.works]
    sources += [each.source for each in found.not_after]
    for row in found.rows:
        sources += [row.source, *(each.source for each in row.limits)]
        sources += [each.source for each in row.longer]
    assert all(source.text for source in sources)


def test_a_child_takes_the_place_of_its_parents_same_code():
    parent = {
        "a": 1,
        "t": {"x": 1, "y": 2},
        "rows": [{"code": "one", "v": 1}, {"code": "two", "v": 2}],
    }
    child = {"a": 2, "t": {"y": 3}, "rows": [{"code": "two", "v": 9}, {"code": "three", "v": 3}]}
    assert merge(parent, child) == {
        "a": 2,
        "t": {"x": 1, "y": 3},
        "rows": [{"code": "one", "v": 1}, {"code": "two", "v": 9}, {"code": "three", "v": 3}],
    }


def test_text_with_quotes_and_other_letters_survives():
    text = as_text({"t": {"source": 'said "no" at 38 °C\\ and\nmore', "list": [1, 2.5, True]}})
    assert 'said \\"no\\"' in text


def broken(tmp_path, change) -> str:
    """The sentence with which a changed copy of the guinea pig's protocol is refused."""
    text = change(merged_text("guinea_pig_castration"))
    (tmp_path / "guinea_pig_castration.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadProtocol) as refusal:
        load("guinea_pig_castration", tmp_path)
    return str(refusal.value)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("[protocol]", "[protocol", "guinea_pig_castration.toml: is not TOML"),
        (
            'species = "guinea_pig"',
            'species = "goat"',
            "protocol.species must be one of guinea_pig",
        ),
        ('name = "guinea_pig_castration"', 'name = "other"', "protocol.name is 'other'"),
        ("version = 1", "version = 0", "protocol.version must be a whole number of at least 1"),
        ("version = 1", "", "protocol.version is missing"),
        (
            "early_hours = 4",
            "early_hours = nan",
            "answer_within.early_hours must be a finite number",
        ),
        ("monitor = 0.05", "monitor = 5", "weight_bands.monitor must be a share below 1"),
        ("monitor = 0.05", "monitor = 0.12", "weight_bands.urgent must lie between"),
        ('code = "soft_bedding"', 'code = "cotton_wool"', "restriction[0].code must be one of"),
        ("meals_per_day = 5", "meals_per_day = 5\nsnacks = 2", "feeding.snacks is not a key"),
        (
            '"breathing", "demeanour", "appetite"',
            '"breathing", "demeanour"',
            "'appetite' of 'core'",
        ),
        ('kind = "waking"', 'kind = "noon"', "kind must be one of evening"),
        (
            "grams = [250, 1600]",
            "grams = [1600, 250]",
            "plausible_weight.grams must be two numbers",
        ),
        ('group = "opioid"', 'group = "herb"', "can_explain[0].group must be one of nsaid, opioid"),
        ("hours = 72", "hours = 0", "can_explain[0].hours must be more than 0"),
        ('"faeces=fewer", "faeces=none"', '"faeces=purple"', "can_explain[0].seen cannot hold 'purple'"),
        ('"faeces=fewer", "faeces=none"', '"droppings"', "can_explain[0].seen cannot be read at 'droppings'"),
        ('"faeces=fewer", "faeces=none"', "", "can_explain[0].seen must name at least one answer, or vomiting"),
    ],
)
def test_a_broken_protocol_is_refused_in_a_sentence(tmp_path, old, new, sentence):
    said = broken(tmp_path, lambda text: text.replace(old, new, 1))
    assert re.match(r"guinea_pig_castration\.toml(:\d+)?: ", said)
    assert sentence in said
    assert said.endswith(".")


def test_a_missing_part_and_a_circle_are_refused(tmp_path):
    (tmp_path / "a.toml").write_text('extends = ["_b"]', encoding="utf-8")
    with pytest.raises(BadProtocol, match=r"a\.toml: extends names '_b', which is not here"):
        load("a", tmp_path)
    (tmp_path / "_b.toml").write_text('extends = ["a"]', encoding="utf-8")
    with pytest.raises(BadProtocol, match="leads back to 'a'"):
        load("a", tmp_path)


def test_an_unknown_protocol_is_said():
    with pytest.raises(BadProtocol, match="'hamster_spay' is not here"):
        load("hamster_spay")


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("above = 0.6", "above = -1", "must be more than 0"),
        ('drug = "meloxicam"', "", "drug is missing"),
        ('mark = "M"', 'mark = "X"', "mark must be one of P, M, C, D"),
        ("nsaids = [", "nsaids = [ 5,", "nsaids[0] must be words"),
        ('source = "EU and UK product information, 0.5 mg/ml"', 'source = " "', "source must say where it comes from"),
        ("above = 0.6", "above = 2.5", "limits must rise from warning over needs_vet to refused"),
    ],
)
def test_a_broken_formulary_is_refused_in_a_sentence(old, new, sentence):
    with pytest.raises(BadProtocol) as refusal:
        parse_formulary(FILE.read_text(encoding="utf-8").replace(old, new, 1))
    assert re.match(r"formulary\.toml:\d+: ", str(refusal.value))
    assert sentence in str(refusal.value)


def line_of(text: str, words: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), start=1) if words in line)


def test_a_refusal_names_the_line_of_the_part_in_which_it_was_written(tmp_path):
    for path in FOLDER.glob("*.toml"):
        (tmp_path / path.name).write_text(path.read_text())
    part = tmp_path / "_rules_grazer.toml"
    text = part.read_text().replace('answers = ["swollen"]', 'answers = ["huge"]', 1)
    part.write_text(text)

    with pytest.raises(BadProtocol) as refusal:
        load("rabbit_spay", tmp_path)
    assert str(refusal.value).startswith(f"_rules_grazer.toml:{line_of(text, 'huge')}: answer[")


def test_a_missing_key_is_refused_at_its_table_and_an_inline_table_at_its_brace():
    text = FILE.read_text()
    for change, line in (
        (
            ('drug = "meloxicam"\nspecies = ["rabbit"]', 'species = ["rabbit"]'),
            line_of(text, 'species = ["rabbit"]') - 2,
        ),
        (("below = 0.3", "below = 0"), line_of(text, "below = 0.3")),
    ):
        with pytest.raises(BadProtocol) as refusal:
            parse_formulary(text.replace(*change, 1))
        assert str(refusal.value).startswith(f"formulary.toml:{line}: ")


def test_every_part_that_ships_is_used():
    parts = {path.stem for path in FOLDER.glob("_*.toml")}
    text = "".join(path.read_text(encoding="utf-8") for path in FOLDER.glob("*.toml"))
    assert {part for part in parts if f'"{part}"' not in text} == set()
