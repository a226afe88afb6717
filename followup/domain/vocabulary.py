"""The words of each language by which an owner's text is read. Values; the lists are files in `followup/vocabulary`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from followup.domain.phrases import Phrases


class LifeSign(StrEnum):
    """What a living animal does, and an owner may say that it does not."""

    FOOD = "food"
    DROPPINGS = "droppings"
    URINE = "urine"
    LIFE = "life"


@dataclass(frozen=True, eq=False)
class Denials:
    """How a language says no. What each list means is written at the top of the files."""

    before: Phrases
    after: Phrases
    far: Phrases
    reach: int
    answers: Phrases
    ceased: Phrases
    scarcely: Phrases
    fillers: Phrases
    fillers_after: Phrases
    listing: Phrases
    items: Phrases
    connectors: Phrases
    weakened: Phrases
    back_again: Phrases
    good: Phrases


@dataclass(frozen=True, eq=False)
class Death:
    """`says`: that it has died. `other`: something else has. `doubts`: feared, supposed, or nearly so."""

    says: Phrases
    other: Phrases
    doubts: Phrases


@dataclass(frozen=True, eq=False)
class Mishaps:
    """`grave`: three times too much, or into the lungs. `painkillers`: names by drug. `given`: that it was given."""

    plain: Phrases
    grave: Phrases
    painkillers: Mapping[str, Phrases]
    given: Phrases
    not_given: Phrases
    not_done: Phrases


@dataclass(frozen=True, eq=False)
class Language:
    """One language. `harmless`: phrases that hold an alarming word and mean nothing by it."""

    code: str
    dangers: Phrases
    always: Phrases
    missing: Mapping[LifeSign, Phrases]
    harmless: Phrases
    denials: Denials
    death: Death
    mishaps: Mishaps


@dataclass(frozen=True, eq=False)
class Vocabulary:
    """Every text is read in every language, since nobody says in which he writes."""

    languages: tuple[Language, ...]
