"""What an owner, or somebody of the practice on the phone, says when asked: the true course, as it is told."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from followup.domain.answers import PainSign, Question, Unsure
from followup.domain.observation import Observation, Told
from followup.domain.questions import CORE, WHOLE_WOUND, to_ask
from followup.domain.terms import Observer, Sign
from followup.domain.told import buttons
from followup.domain.wound_words import GLANCE, WORSE
from tests.bench.smooth import assumed, owners
from tests.bench.smooth.course import Course
from tests.bench.smooth.misreported import GRADES, Errors, Graded

WHEN = {"last_ate_at": Sign.FOOD, "last_faeces_at": Sign.FAECES, "last_urine_at": Sign.URINE}
ON_THE_PHONE = (*CORE, *WHOLE_WOUND, "pain_signs", "drinking", "warmth", "breathing", "urine", "scrotum_or_groin")
"""What the practice asks when it rings about a flag (D). It is told truly: a person asks until it is clear."""
ALTOGETHER_TRUE = Errors(0, 0)
INVENTED = (PainSign.HIDING, PainSign.RELUCTANT_TO_MOVE, PainSign.GUARDS_WOUND)
"""The sign that an owner may see in an animal that shows none."""


@dataclass
class Teller:
    """Somebody who tells of one patient. `graded`: what was told of the planned questions of check-ins."""

    course: Course
    errors: Errors
    rng: random.Random
    by: Observer = Observer.OWNER
    graded: list[Graded] = field(default_factory=list)
    _counted: frozenset[str] = frozenset()

    def tells(
        self, planned: Sequence[str], now: dt.datetime, since: dt.datetime, *, counts: bool = False
    ) -> Observation:
        """Every question that is put, and what the answers open. `since`: when he was last asked.

        `counts`: the planned questions' grades are kept.
        """
        said = _Said({}, {}, set())
        self._counted = frozenset(planned) if counts else frozenset()
        given: dict[str, tuple[str, ...]] = {}
        case = self.course.case
        while (key := next((one for one in to_ask(planned, given, case) if one not in given), "")) != "":
            given[key] = self._answer(key, said, now, since)
        return Observation(
            at=now,
            by=self.by,
            answers=said.answers,
            told=said.told,
            not_sure=frozenset(said.not_sure),
            pain_signs=self._pain(now) if "pain_signs" in given else None,
            vomits=self.course.vomits(now, since) or None,
            weight_g=round(self._weighed(now)) if "weight_g" in given else None,
            text=self.rng.choice(owners.WORDS) if self._happens(owners.WRITES) else "",
        )

    def _answer(self, key: str, said: _Said, now: dt.datetime, since: dt.datetime) -> tuple[str, ...]:
        if key in WHEN:
            said.told[WHEN[key]] = self._when(WHEN[key], now)
        elif self._happens(owners.NOT_SURE.get(key, 0)):
            said.not_sure.add(Unsure(key))
        elif key == GLANCE:
            return (WORSE,) if self._happens(self.errors.at_an_end) else ()
        elif key in set(Question):
            question = Question(key)
            worried = question is Question.WORRIED
            said.answers[question] = self._worried() if worried else self._told(question, now, since)
        return tuple(answer for question, answer in said.answers.items() if question == key)

    def _told(self, question: Question, now: dt.datetime, since: dt.datetime) -> str:
        true = self.course.answer(question, now, since)
        told = self.errors.told(question, true, self.rng)
        grades = GRADES.get(question, ())
        if true in grades and question in self._counted:
            self.graded.append((grades.index(true), grades.index(told), len(grades) - 1))
        return told

    def _when(self, sign: Sign, now: dt.datetime) -> Told | None:
        """A clock time, or the button in whose span it lies."""
        seen = self.by is Observer.STAFF or self._happens(owners.SAW_THE_LAST)
        last = self.course.last(sign, now, before=0 if seen else 1)
        if last is None or self._happens(owners.DID_NOT_SEE):
            return None
        if self.by is Observer.STAFF or self._happens(owners.TELLS_TIME):
            return Told.exactly(last)
        spans = buttons(now, self.course.case.hours, since=self.course.case.surgery_ended_at)
        return next((each.told for each in spans if each.told is not None and each.told.latest >= last
                     and each.told.earliest <= last), None)  # fmt: skip

    def _pain(self, now: dt.datetime) -> frozenset[PainSign]:
        """Each sign that is there is overlooked like a grade between; where there is none, one is seen as rarely as a
        grade above nothing."""
        there = self.course.pain_signs(now)
        if not there:
            return frozenset({self.rng.choice(INVENTED)}) if self._happens(self.errors.at_an_end) else frozenset()
        overlooked, _ = self.errors.chances(1, 3)
        return frozenset(sign for sign in sorted(there) if not self._happens(overlooked))

    def _worried(self) -> str:
        drawn = self.rng.random()
        for word, share in owners.WORRIED:
            if self.by is Observer.OWNER and drawn < share:
                return word
            drawn -= share
        return "no"

    def _weighed(self, now: dt.datetime) -> float:
        return self.course.grams(now) * (1 + self.rng.gauss(0, assumed.SCALES_ERROR))

    def _happens(self, share: float) -> bool:
        return self.by is Observer.OWNER and self.rng.random() < share


@dataclass
class _Said:
    answers: dict[Question, str]
    told: dict[Sign, Told | None]
    not_sure: set[Unsure]
