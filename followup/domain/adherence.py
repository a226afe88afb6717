"""How much of a medicine was given as planned, so far."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from followup.domain.terms import DoseOutcome


@dataclass(frozen=True)
class DoseSoFar:
    """One planned dose: when it counts as missed, and what was told of it; None: nothing."""

    drug: str
    give_until: dt.datetime
    outcome: DoseOutcome | None


@dataclass(frozen=True)
class Adherence:
    """Of one drug: doses that are over or told of, how many were given, and the rest by what became of them."""

    drug: str
    due: int
    given: int
    not_given: tuple[tuple[DoseOutcome, int], ...]
    untold: int


def adherence(doses: Iterable[DoseSoFar], now: dt.datetime) -> tuple[Adherence, ...]:
    """Each drug in the order of its first dose. A dose counts once it was told of, or its time has passed.

    A dose of which nobody told is neither given nor missed.
    """
    over = [each for each in doses if each.outcome is not None or each.give_until <= now]
    found = []
    for drug in dict.fromkeys(each.drug for each in over):
        counts = Counter(each.outcome for each in over if each.drug == drug)
        others = tuple((outcome, counts[outcome]) for outcome in DoseOutcome if counts[outcome])
        found.append(
            Adherence(
                drug=drug,
                due=counts.total(),
                given=counts[DoseOutcome.GIVEN],
                not_given=tuple(each for each in others if each[0] is not DoseOutcome.GIVEN),
                untold=counts[None],
            )
        )
    return tuple(found)
