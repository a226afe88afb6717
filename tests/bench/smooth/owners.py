"""What the simulation assumes of owners: who answers and when, and what is asked of whom.

The shares of answers are the goals of evidence A5, taken as if they were met, not what was seen of owners of animals.
"""

from __future__ import annotations

import datetime as dt
import math
import random
from dataclasses import dataclass
from itertools import pairwise

from followup.domain.hours import OwnerHours
from followup.domain.terms import DoseOutcome

NEVER_ANSWERS = 0.13
"""Evidence A5: at least 87 % answer at least once."""
ANSWERED = ((0.0, 0.85), (7.0, 0.68), (14.0, 0.60))
"""Evidence A5: of all first check-ins 85 %, day 7 68 %, day 14 60 % (assumed there); straight lines between."""
WITHIN_AN_HOUR = 0.85
"""Evidence A5: answers that come within 60 minutes. Delays are exponential with this share below an hour."""
MEAN_DELAY = dt.timedelta(hours=1) / -math.log(1 - WITHIN_AN_HOUR)
MINUTE = dt.timedelta(minutes=1)

DOSES = {DoseOutcome.GIVEN: 0.95, DoseOutcome.MISSED: 0.02, DoseOutcome.REFUSED: 0.02, DoseOutcome.SPAT_OUT: 0.01}
"""What becomes of a dose (D)."""
DOSE_REPORTED = 0.8
"""Share of doses that are reported at all, by an owner who answers (D)."""

NOT_SURE = {
    "appetite": 0.02,
    "faeces": 0.05,
    "urine": 0.15,
    "demeanour": 0.01,
    "breathing": 0.02,
    "wound": 0.08,
}
"""Share of answers that are "I am not sure", or "I could not look" (D)."""
WORRIED = (("very", 0.005), ("a_little", 0.06))
"""Worry without a cause (D): half in a hundred answers says very."""
WORDS = ("no blood at all", "he is fine, thank you", "a bit sleepy", "not bleeding", "when can he have a bath?")
WRITES = 0.15
"""Share of answers with free words, all of them harmless (D)."""
TELLS_TIME = 0.3
"""Share of "when" that is a clock time; did not see: half as many; else the button whose span it lies in (D)."""
DID_NOT_SEE = 0.15
SAW_THE_LAST = 0.7
"""Share of "when" that speaks of the last time and not of the one before it (D)."""


@dataclass(frozen=True)
class Answering:
    """One owner as to whether and when he answers."""

    ever: bool
    hours: OwnerHours
    rng: random.Random

    @classmethod
    def one_of_them(cls, hours: OwnerHours, rng: random.Random) -> Answering:
        """An owner as they come."""
        return cls(rng.random() >= NEVER_ANSWERS, hours, rng)

    def answers_at(self, asked: dt.datetime, day: float) -> dt.datetime | None:
        """When a question put at `asked` on `day` is answered; asleep: within half an hour of waking. None: never."""
        if not self.ever or self.rng.random() >= share_answered(day) / (1 - NEVER_ANSWERS):
            return None
        found = asked + max(MEAN_DELAY * self.rng.expovariate(1), MINUTE)
        if self.hours.awake(found):
            return found
        return self.hours.next_awake(found) + self.rng.uniform(1, 30) * MINUTE


def share_answered(day: float) -> float:
    """The share of all check-ins of that day that are answered."""
    for (first, high), (last, low) in pairwise(ANSWERED):
        if day <= last:
            return high + (low - high) * max(day - first, 0) / (last - first)
    return ANSWERED[-1][1]
