"""One recovery as triage reads it: the facts, the rules, what is planned, and what was seen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from followup.domain.answers import PainSign, Question
from followup.domain.case import Case, VetSaid
from followup.domain.compiled import Medicine, PlannedCheckIn
from followup.domain.observation import DoseReport, Observation
from followup.domain.rules import Rules
from followup.domain.terms import Concern, Species
from followup.domain.vocabulary import Vocabulary
from followup.domain.why_silent import WhySilent

CONTRADICTORY_WITHIN = dt.timedelta(minutes=30)
"""Two answers this close contradict each other, and the worse stands. Source: clinical defaults, 6.8 (D)."""

NOT_AN_ANSWER = "not_checked"


@dataclass(frozen=True)
class Seen:
    """One answer and when the animal was seen."""

    answer: str
    at: dt.datetime


@dataclass(frozen=True)
class Release:
    """A vet has let a held drug go on: what was known until then holds it no longer."""

    drug: str
    at: dt.datetime


@dataclass(frozen=True)
class Reviewed:
    """A person has looked at everything of one concern that was known at `at`."""

    concern: Concern
    at: dt.datetime


@dataclass(frozen=True)
class Recovery:
    """`observations` lie in the order in which the animal was seen. `unasked`: check-ins that could not be sent.

    `why_silent`: what owners gave as the reason of a silence that has ended; no observation, and in no case file.
    `worked_out`: what has been worked out of these facts already, for speed alone; never a fact.
    """

    case: Case
    rules: Rules
    pinned: str
    vocabulary: Vocabulary
    check_ins: tuple[PlannedCheckIn, ...] = ()
    medication: tuple[Medicine, ...] = ()
    observations: tuple[Observation, ...] = ()
    unasked: frozenset[dt.datetime] = frozenset()
    releases: tuple[Release, ...] = ()
    reviews: tuple[Reviewed, ...] = ()
    why_silent: tuple[WhySilent, ...] = ()
    worked_out: dict[object, object] = field(default_factory=dict, init=False, repr=False, compare=False)

    @classmethod
    def of(  # noqa: PLR0913 - the parts of one value, all by name
        cls,
        *,
        case: Case,
        rules: Rules,
        pinned: str,
        vocabulary: Vocabulary,
        check_ins: Sequence[PlannedCheckIn],
        medication: Sequence[Medicine],
        observations: Sequence[Observation],
        unasked: frozenset[dt.datetime] = frozenset(),
        releases: Sequence[Release] = (),
        reviews: Sequence[Reviewed] = (),
        why_silent: Sequence[WhySilent] = (),
    ) -> Recovery:
        """A recovery whose observations are put in the order in which the animal was seen."""
        ordered = tuple(sorted(observations, key=lambda seen: seen.at))
        planned = tuple(check_ins), tuple(medication)
        looked = tuple(releases), tuple(reviews)
        looked = tuple(releases), tuple(reviews)
        return cls(case, rules, pinned, vocabulary, *planned, ordered, unasked, *looked, why_silent=tuple(why_silent))

    def until(self, moment: dt.datetime) -> Recovery:
        """As it was known at `moment`: later observations and later words of a vet are left out."""
        if not self._goes_on_after(moment):
            return self
        return replace(
            self,
            observations=tuple(seen for seen in self.observations if seen.at <= moment),
            releases=tuple(each for each in self.releases if each.at <= moment),
            reviews=tuple(each for each in self.reviews if each.at <= moment),
            why_silent=tuple(each for each in self.why_silent if each.at <= moment),
            case=replace(self.case, vet_said=tuple(said for said in self.case.vet_said if said.at <= moment)),
        )

    @property
    def species(self) -> Species:
        """Of the patient."""
        return self.case.patient.species

    def standing(self, question: Question) -> tuple[Seen, ...]:
        """The newest answer to `question`, with what contradicts it within half an hour; empty: never answered."""
        return self._standing.get(question, ())

    def answers_to(self, question: Question) -> tuple[Seen, ...]:
        """Every answer to `question`, oldest first."""
        return self._answers.get(question, ())

    def stands(self, question: Question, answer: str) -> bool:
        """Whether `answer` stands."""
        return any(seen.answer == answer for seen in self.standing(question))

    def pain_signs(self) -> tuple[frozenset[PainSign], dt.datetime] | None:
        """The signs of the newest look for them, and when it was; None: never looked for."""
        looked = [seen for seen in self.observations if seen.pain_signs is not None]
        if not looked:
            return None
        last = looked[-1].at
        close = [seen.pain_signs for seen in looked if last - seen.at <= CONTRADICTORY_WITHIN]
        return frozenset().union(*(signs for signs in close if signs is not None)), last

    def vomiting(self) -> tuple[int, dt.datetime] | None:
        """The newest count of vomits and when it was told; None: never told."""
        told = [(seen.vomits, seen.at) for seen in self.observations if seen.vomits is not None]
        return told[-1] if told else None

    def vomited(self) -> bool:
        """Whether the newest count of vomits is one or more."""
        told = self.vomiting()
        return told is not None and told[0] > 0

    def weight(self) -> tuple[float, dt.datetime] | None:
        """The newest weight in grams since discharge, and when; None: not weighed."""
        told = [(seen.weight_g, seen.at) for seen in self.observations if seen.weight_g is not None]
        return told[-1] if told else None

    def dose_reports(self, drug: str) -> tuple[tuple[DoseReport, dt.datetime], ...]:
        """What was reported of one drug's doses, in order, each with the time that it speaks of."""
        reports = [
            (seen.dose, seen.dose.given_at or seen.at)
            for seen in self.observations
            if seen.dose is not None and seen.dose.drug == drug
        ]
        return tuple(sorted(reports, key=lambda report: report[1]))

    def released_at(self, drug: str) -> dt.datetime | None:
        """When a vet last let this drug go on; None: never."""
        return max((each.at for each in self.releases if each.drug == drug), default=None)

    def reviewed_at(self, concern: Concern) -> dt.datetime | None:
        """When a person last reviewed `concern`; None: never. A case file cannot say so."""
        return max((each.at for each in self.reviews if each.concern is concern), default=None)

    def vet_said_at(self, moment: dt.datetime) -> VetSaid | None:
        """The vet's word that holds at `moment`, if any: until it runs out, time alone raises nothing."""
        holds = [said for said in self.case.vet_said if said.at <= moment < said.look_again_at]
        return max(holds, key=lambda said: said.at, default=None)

    def _goes_on_after(self, moment: dt.datetime) -> bool:
        """Whether anything in it is later than `moment`."""
        known = (self.observations, self.releases, self.reviews, self.case.vet_said, self.why_silent)
        return any(each.at > moment for part in known for each in part)

    @cached_property
    def _answers(self) -> dict[Question, tuple[Seen, ...]]:
        found: dict[Question, list[Seen]] = {}
        for seen in self.observations:
            for question, answer in seen.answers.items():
                if answer != NOT_AN_ANSWER:
                    found.setdefault(question, []).append(Seen(answer, seen.at))
        return {question: tuple(answers) for question, answers in found.items()}

    @cached_property
    def _standing(self) -> dict[Question, tuple[Seen, ...]]:
        return {question: _newest(answers) for question, answers in self._answers.items()}


def _newest(answers: Sequence[Seen]) -> tuple[Seen, ...]:
    if not answers:
        return ()
    last = answers[-1].at
    return tuple(seen for seen in answers if last - seen.at <= CONTRADICTORY_WITHIN)
