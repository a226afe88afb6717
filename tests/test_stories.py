"""The stories that a vet can read: enough of them, and the program gives each the level that its writer gave it."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from followup.casefile import BadCase, read_story
from followup.domain.terms import Level, Procedure, Species
from followup.management.stories import Judged, judged_in, report
from tests.command import manage

STORIES = Path(__file__).parent.parent / "fixtures" / "stories"


@cache
def judged() -> tuple[Judged, ...]:
    return judged_in(STORIES)


def ends() -> list[Judged]:
    return [each for each in judged() if each.moment.last]


def whole_recoveries() -> list[str]:
    """Well patients told from discharge to day 12 or later."""
    return [
        each.story
        for each in ends()
        if each.story.startswith("well_") and each.moment.found.case.day(each.moment.now) >= 12
    ]


def test_the_program_agrees_with_whoever_wrote_them():
    differs = [
        f"{each.story} at {each.moment.now}: {each.moment.level.word} expected, {each.verdict.level.word} given"
        for each in judged()
        if each.missed or each.false_alarm
    ]
    assert differs == []


def test_there_are_enough_of_them():
    kinds = Counter(each.moment.level for each in ends())

    assert len(ends()) >= 120
    assert kinds[Level.EMERGENCY] >= 60
    assert sum(each.story.startswith("well_") for each in ends()) >= 40
    assert {(each.moment.found.case.patient.species) for each in ends()} == set(Species)
    assert {(each.moment.found.case.procedure) for each in ends()} == set(Procedure)


@pytest.mark.parametrize("species", list(Species))
def test_every_species_has_whole_normal_recoveries_that_alert_nobody(species):
    whole = [name for name in whole_recoveries() if name.startswith(f"well_{species}_")]
    moments = [each for each in judged() if each.story in whole]

    assert len(whole) >= 3
    asleep = [each for each in moments if each.verdict.level > Level.MONITOR]
    # The one exception of the defaults themselves: a rabbit's droppings reach 18 h at five in the morning.
    assert all(each.moment.level is Level.URGENT and species is Species.RABBIT for each in asleep)


def story(**changes):
    found = json.loads((STORIES / "well_guinea_pig_castration_scrotal_textbook.json").read_text(encoding="utf-8"))
    return {**found, **changes}


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"expected": {"level": "fine", "because": "x"}}, "$.expected.level"),
        ({"expected": {"level": "monitor"}}, "$.expected.because"),
        ({"case": []}, "$.case"),
        ({"mood": "good"}, "$.mood"),
        ({"along_the_way": [{"now": "tomorrow", "level": "monitor", "because": "x"}]}, "$.along_the_way[0].now"),
    ],
)
def test_a_story_that_cannot_be_read_names_the_place(change, path):
    with pytest.raises(BadCase) as refusal:
        read_story(json.dumps(story(**change)))
    assert refusal.value.path == path


def test_what_was_seen_later_is_not_known_along_the_way():
    found = read_story(json.dumps(story()))
    first, last = found.moments[0], found.moments[-1]

    assert len(first.found.observations) < len(last.found.observations)
    assert all(seen.at <= first.now for seen in first.found.observations)


def folder(tmp_path: Path, **changes) -> Path:
    told = story(along_the_way=[])
    (tmp_path / "one.json").write_text(json.dumps(told), encoding="utf-8")
    (tmp_path / "two.json").write_text(json.dumps({**told, **changes}), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("level", "agreements", "misses", "alarms"),
    [("emergency", "1", "1", "0"), ("monitor", "2", "0", "0"), ("on_track", "1", "0", "1")],
)
def test_misses_and_false_alarms_are_counted_with_their_denominators(tmp_path, level, agreements, misses, alarms):
    told = folder(tmp_path, expected={"level": level, "because": "to see what is printed"})
    text = " ".join(report(told, judged_in(told)).split())

    assert f"agreements {agreements} of 2" in text
    assert f"misses {misses} of 2" in text
    assert f"false alarms {alarms} of 2" in text
    assert ("two, " in text) is (level != "monitor")


def test_the_command_prints_them_and_refuses_a_folder_without_any(tmp_path):
    done = manage("triage", "--stories", str(folder(tmp_path)), folder=tmp_path)
    assert done.returncode == 0
    assert "2 stories in" in done.stdout
    assert "not a substitute" in done.stdout

    empty = manage("triage", "--stories", str(tmp_path / "none"), folder=tmp_path)
    assert (empty.returncode, "holds no story" in empty.stderr) == (2, True)
    neither = manage("triage", folder=tmp_path)
    assert (neither.returncode, "Name one case file" in neither.stderr) == (2, True)
