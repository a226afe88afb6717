"""What stands against medicines because of each other: in the list that goes home, and of the hours before.

Source: clinical defaults, 8.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

from followup.domain.compiled import Problem
from followup.domain.hours import DAY
from followup.domain.script import MADE_HERE, NEEDS_VET, REFUSED, Script, last_nsaid_in_clinic


def side_by_side(scripts: Sequence[Script]) -> Mapping[str, tuple[Problem, ...]]:
    """By path: what stands against each medicine because of those beside it."""
    return {
        script.path: (
            *_twice(script, scripts[:index]),
            *_two_nsaids(script, scripts[:index]),
            *_steroids(script, scripts),
        )
        for index, script in enumerate(scripts)
    }


def _twice(script: Script, before: Sequence[Script]) -> Iterator[Problem]:
    """The same drug twice: each line alone may keep a limit that both together pass (D)."""
    if any(each.asked.drug == script.asked.drug for each in before) and not script.is_nsaid:
        yield script.problem(REFUSED, "drug", f"{script.asked.drug} stands twice in the list: write it once.")


def _two_nsaids(script: Script, before: Sequence[Script]) -> Iterator[Problem]:
    """Of two NSAIDs at home at once, the later in the list is refused."""
    first = next((each for each in before if each.is_nsaid), None)
    if script.is_nsaid and first is not None:
        yield script.problem(
            REFUSED,
            "drug",
            f"{script.asked.drug}, {first.asked.drug}: never two anti-inflammatories at once.",
        )


def _steroids(script: Script, scripts: Sequence[Script]) -> Iterator[Problem]:
    """A steroid beside an NSAID stops the NSAID until a vet confirms it."""
    if script.is_nsaid:
        for each in scripts:
            if script.formulary.is_steroid(each.asked.drug):
                yield script.problem(
                    NEEDS_VET,
                    "drug",
                    f"{script.asked.drug} beside {each.asked.drug}, a steroid: only when a vet confirms it.",
                )


def problems_of_the_day_before(script: Script, first_dose_at: dt.datetime) -> Iterator[Problem]:
    """Another NSAID or a steroid 24 h or less before the first dose of an NSAID is for a vet to confirm."""
    if not script.is_nsaid:
        return
    last = last_nsaid_in_clinic(script.case, script.formulary)
    if last and last.drug != script.asked.drug and first_dose_at - last.at <= DAY:
        yield script.problem(
            NEEDS_VET,
            "drug",
            f"The clinic gave {last.drug}; {script.asked.drug} would follow within 24 hours.",
        )
    for given in script.case.given_in_clinic or ():
        if script.formulary.is_steroid(given.drug) and first_dose_at - given.at <= DAY:
            yield Problem(
                NEEDS_VET,
                "$.given_in_clinic",
                f"The clinic gave {given.drug}, a steroid; {script.asked.drug} would follow within 24 hours.",
                MADE_HERE,
            )
