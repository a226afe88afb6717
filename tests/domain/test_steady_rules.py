"""The rules that differ only in their figures: those that ship, another practice's, and an older copy without them."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

import pytest

from followup.domain.clock_rules import counts_in_full_at
from followup.domain.clocks import clock_of
from followup.domain.steady_rules import (
    Asked,
    BeforeSleep,
    FirstNight,
    Mishaps,
    NotTaken,
    Silence,
    SteadyRules,
    StopAndCall,
)
from followup.domain.terms import GRAZERS, SMALL_MAMMALS, Level, Sign, Species
from followup.protocols.load import available, load, merged_text, names, parse
from followup.protocols.parse_steady import STEADY_TABLES
from followup.protocols.refusals import BadProtocol
from tests.domain.triage_cases import recovery, seen, when
from tests.recoveries import guinea_pig


@pytest.mark.parametrize("name", names())
def test_the_figures_of_section_4_and_6_ship_with_every_protocol(name):
    found = load(name)
    steady = found.rules.steady

    nights = 3 if found.species in GRAZERS else 1 if found.species in SMALL_MAMMALS else 0
    another = Level.EMERGENCY if found.species is Species.CAT else Level.URGENT
    assert (steady.asked.for_waking, steady.asked.too_late) == (dt.timedelta(minutes=60), dt.timedelta(minutes=90))
    assert (steady.before_sleep.nights, steady.mishaps.another_nsaid) == (nights, another)
    assert steady.before_sleep == BeforeSleep(nights=nights, source=steady.before_sleep.source)
    assert steady.not_taken == NotTaken(source=steady.not_taken.source)
    assert steady.stop_and_call == StopAndCall(source=steady.stop_and_call.source)
    assert steady.mishaps == Mishaps(another_nsaid=another, source=steady.mishaps.source)
    assert steady.asked == Asked(source=steady.asked.source)
    first_night = FirstNight() if found.species in GRAZERS else None
    assert steady.silence == Silence(first_night=first_night, source=steady.silence.source)


def without_tables(name: str) -> str:
    """An older copy, from before these rules stood in the protocol."""
    return re.sub(rf"(?m)^\[({'|'.join(STEADY_TABLES)})\]\n(?:.+\n)+", "", merged_text(name))


@pytest.mark.parametrize("name", [each.name for each in available() if each.species is not Species.CAT])
def test_an_older_copy_of_a_protocol_is_judged_by_the_same_figures(name):
    old, new = parse(without_tables(name)).rules.steady, load(name).rules.steady

    assert isinstance(old, SteadyRules)
    assert old.before_sleep.nights == new.before_sleep.nights
    assert old.silence.first_night == new.silence.first_night
    assert (old.stop_and_call.facts, old.mishaps.half_again) == (new.stop_and_call.facts, new.mishaps.half_again)


def with_figures(**figures: str):
    """The guinea pig castration of a practice that has other figures."""
    text = merged_text("guinea_pig_castration")
    for key, value in figures.items():
        text, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {value}", text)
        assert count == 1, key
    return parse(text).rules


def test_a_practice_may_ask_for_longer_before_a_possible_limit_counts_in_full():
    found = recovery(guinea_pig(), [seen("10 20:45", appetite="normal"), seen("11 12:00", unsure=["appetite"])])

    def full_at(rules) -> str:
        whole = replace(found, rules=rules)
        moment = counts_in_full_at(whole, clock_of(whole, Sign.FOOD), dt.timedelta(hours=6), when("10 10:30"))
        return f"{moment:%H:%M}"

    assert full_at(with_figures()) == "13:00"
    assert full_at(with_figures(waking_minutes="90")) == "13:30"


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("with_signs", '"red"', "before_sleep.with_signs must be monitor, urgent or emergency"),
        ("half_again_times", "0.5", "mishaps.half_again_times must be more than 1"),
        ("signs_later", '["mood=bad"]', "stop_and_call.signs_later cannot be read"),
        ("too_late_minutes", '"soon"', "asked.too_late_minutes must be a number"),
        ("last_answer_good", '"fine"', "silence.last_answer_good must be monitor, urgent or emergency"),
        (
            "first_night",
            '{ level = "urgent", call_at = "15:00", vet_at = "14:00", first_at = "18:00" }',
            "call_at must not be later than vet_at",
        ),
    ],
)
def test_a_wrong_figure_is_refused_by_its_place(key, value, says):
    with pytest.raises(BadProtocol, match=re.escape(says)):
        with_figures(**{key: value})
