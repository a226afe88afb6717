"""What was seen of an animal at one moment. An absent answer is unknown, never normal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from followup.domain.answers import PainSign, Question, Unsure
from followup.domain.terms import DoseOutcome, Observer, Sign


@dataclass(frozen=True)
class Told:
    """When something last happened, as an owner can tell it: not before `earliest`, not after `latest`.

    A time told exactly has equal ends.
    """

    earliest: dt.datetime
    latest: dt.datetime

    @classmethod
    def exactly(cls, moment: dt.datetime) -> Told:
        """A time that the owner knows."""
        return cls(moment, moment)


@dataclass(frozen=True)
class DoseReport:
    """What became of one dose. `ml` is what the owner measured; `route_wrong`: lungs, wrong animal, wrong place."""

    drug: str
    outcome: DoseOutcome
    given_at: dt.datetime | None = None
    ml: float | None = None
    route_wrong: bool = False


@dataclass(frozen=True)
class OtherMedicine:
    """Something given that is not on the plan, in the owner's words."""

    what: str
    amount: str = ""
    at: dt.datetime | None = None


@dataclass(frozen=True)
class Observation:
    """One look at the animal, at `at` (aware). Every part is optional; `told[sign]` None: "I do not know when"."""

    at: dt.datetime
    by: Observer = Observer.OWNER
    answers: Mapping[Question, str] = field(default_factory=dict)
    told: Mapping[Sign, Told | None] = field(default_factory=dict)
    not_sure: frozenset[Unsure] = frozenset()
    pain_signs: frozenset[PainSign] | None = None
    vomits: int | None = None
    weight_g: float | None = None
    dose: DoseReport | None = None
    other_medicine: OtherMedicine | None = None
    text: str = ""
    died: bool = False

    def answer(self, question: Question) -> str | None:
        """The answer to `question`, or None when it was not answered."""
        return self.answers.get(question)

    def answers_a_check_in(self) -> bool:
        """Whether this ends the silence after a check-in. Source: clinical defaults, 5."""
        return (
            Question.APPETITE in self.answers
            or Sign.FOOD in self.told  # a time, or "I do not know when"
            or Unsure.APPETITE in self.not_sure
        )
