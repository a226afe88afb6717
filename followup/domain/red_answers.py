"""Answers that are an emergency whatever else is known: read when the rules of a protocol cannot be.

A net below the rules and no second set of them: it holds only what is an emergency by that answer alone, at any hour
after surgery. Source: clinical defaults, 4; marks as there (P, C, D). A test compares it with each protocol.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from followup.domain.answers import YES, Question
from followup.domain.terms import GRAZERS, SMALL_MAMMALS, Species
from followup.domain.understood import Answered

IN_EVERY_SPECIES: Mapping[str, frozenset[str]] = {
    Question.DEMEANOUR: frozenset({"collapsed"}),
    Question.BREATHING: frozenset({"laboured"}),
    Question.GUMS: frozenset({"pale", "blue"}),
    Question.SEIZURE: frozenset({YES}),
    Question.BALANCE: frozenset({"rolling"}),
    Question.URINE: frozenset({"straining"}),
    Question.EDGES: frozenset({"tissue_showing", "gaping"}),
    Question.BLEEDING: frozenset({"steady_drip"}),
    Question.REAR_END: frozenset({"maggots_or_eggs"}),
}

IN_SMALL_MAMMALS: Mapping[str, frozenset[str]] = {
    Question.WARMTH: frozenset({"cold_all_over"}),
    Question.SWELLING: frozenset({"soft_bulge"}),
    Question.GROIN: frozenset({"soft_bulge"}),
}
"""In cats and dogs these are urgent, which what cannot be weighed is in any case."""

IN_GRAZERS: Mapping[str, frozenset[str]] = {Question.BELLY: frozenset({"tight_or_drum"})}


def red_in(answered: Iterable[Answered], species: Species) -> tuple[str, ...]:
    """Each red answer in plain words ("demeanour collapsed"), each once, in the order in which they came."""
    found = [
        f"{each.key} {value}".replace("_", " ").replace(".", " ")
        for each in answered
        for value in each.values
        if value in _red_values(each.key, species)
    ]
    return tuple(dict.fromkeys(found))


def _red_values(key: str, species: Species) -> frozenset[str]:
    none: frozenset[str] = frozenset()
    small = IN_SMALL_MAMMALS.get(key, none) if species in SMALL_MAMMALS else none
    grazer = IN_GRAZERS.get(key, none) if species in GRAZERS else none
    return IN_EVERY_SPECIES.get(key, none) | small | grazer
