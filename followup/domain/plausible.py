"""Weights that a species can have. Outside: asked again, never converted. Source: clinical defaults, 14."""

from __future__ import annotations

from dataclasses import dataclass

from followup.domain.terms import Species

GRAMS: dict[Species, tuple[int, int]] = {
    Species.GUINEA_PIG: (250, 1_600),
    Species.RABBIT: (500, 10_000),
    Species.CAT: (500, 12_000),
    Species.DOG: (500, 90_000),
    Species.FERRET: (300, 2_500),
    Species.RAT: (80, 900),
}
"""From and to, both allowed (M)."""

TIMES_OFF = 1.5
"""More than this many times off the last weight is asked about (M)."""

GRAMS_PER_KG = 1000


@dataclass(frozen=True)
class WeightQuestion:
    """What to ask about a weight; no text: nothing. `may_be_right` False: it is another unit, and no animal."""

    text: str = ""
    may_be_right: bool = True


def weight_question(species: Species, grams: float, *, last: float | None = None) -> WeightQuestion:
    """What to ask about a weight in grams; `last` is the weight before."""
    least, most = GRAMS[species]
    name = species.replace("_", " ")
    if least <= grams * GRAMS_PER_KG <= most and grams < least:
        return WeightQuestion(
            f"{grams:g} g? If you mean {grams:g} kg, write {grams * GRAMS_PER_KG:g}.", may_be_right=False
        )
    if not least <= grams <= most:
        return WeightQuestion(f"{grams:g} g? A {name} weighs {least:,} to {most:,} g. If it is right, say so below.")
    if last is not None and (grams > last * TIMES_OFF or grams * TIMES_OFF < last):
        return WeightQuestion(f"{grams:g} g? The last weight was {last:g} g. If it is right, say so below.")
    return WeightQuestion()
