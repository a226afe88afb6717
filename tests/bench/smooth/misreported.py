"""How owners misreport a graded sign: from a published kappa to the chances of neighbouring grades.

What is published (evidence C5): lay people against vets with picture charts, kappa 0.34 to 0.38 (Cavett 2021); owners
score pain lower than experts, are good at "none" and at "severe" and poor between (Forder 2024, percentages not seen).

The arithmetic. Grades are 0 (nothing) to n (the most severe). With a the error at an end and e the error between:

    grade 0 is told as 1 with a; grade n as n - 1 with a; no grade is told as the most severe with more than a;
    a grade between is told one lower with 3/4 e and one higher with 1/4 e ("usually lower"; the 3 to 1 is ours).

Let p[i] be the share of grade i among the true answers and c[i][j] the chance that i is told as j. Then

    told[j]  = sum over i of p[i] c[i][j]
    observed = sum over i of p[i] c[i][i]
    expected = sum over i of p[i] told[i]
    kappa    = (observed - expected) / (1 - expected)

One equation, two unknowns; so a = e / 4 ("good at none and severe": the 4 to 1 is ours), and e is the number that makes
kappa 0.36, the middle of what is published. kappa falls as e grows, and halving finds it. It depends on how the true
grades are spread: the spread is that of this simulation's own true answers, since the study's is not known to us.

A second reading is run beside it. A wound questionnaire had a specificity of 97.7 % (Glenn, evidence A5): a = 0.023,
and kappa leaves an e of nearly 1: owners who hardly ever invent a sign and hardly ever notice a slight one.
"""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from followup.domain.answers import Question

PUBLISHED_KAPPA = (0.34, 0.38)
KAPPA = sum(PUBLISHED_KAPPA) / 2
SPECIFIC = 0.023
"""Glenn: one less its specificity. Per questionnaire there, per answer here."""
RARER_AT_AN_END = 4
LOWER, HIGHER = 0.75, 0.25
HALVINGS = 40

GRADES: dict[Question, tuple[str, ...]] = {
    Question.APPETITE: ("normal", "less", "a_few_bites", "none"),
    Question.DRINKING: ("normal", "less", "none"),
    Question.FAECES: ("normal", "fewer", "none"),
    Question.DEMEANOUR: ("bright", "quiet", "dull", "collapsed"),
    Question.BREATHING: ("normal", "fast", "laboured"),
    Question.WARMTH: ("warm", "cool_ears_feet", "cold_all_over"),
    Question.REDNESS: ("none", "mild", "marked"),
    Question.SWELLING: ("none", "mild", "marked"),
    Question.DISCHARGE: ("none", "clear", "blood_tinged", "pus"),
    Question.BLEEDING: ("none", "spots", "steady_drip"),
    Question.INTERFERENCE: ("none", "some", "constant"),
    Question.GROIN: ("normal", "mild_swelling", "marked_swelling"),
}
"""The answers that are grades of one thing. What is of another kind (a bulge, straining) is not mistaken for them."""


Graded = tuple[int, int, int]
"""A true grade, the grade told, the highest grade of that question."""


@dataclass(frozen=True)
class Errors:
    """The chance of a wrong answer at an end of the grades, and between."""

    at_an_end: float
    between: float

    def chances(self, grade: int, top: int) -> tuple[float, float]:
        """The chances that `grade` is told as one lower, and as one higher."""
        if grade == 0:
            return 0, self.at_an_end
        if grade == top:
            return self.at_an_end, 0
        higher = HIGHER * self.between
        return LOWER * self.between, min(higher, self.at_an_end) if grade + 1 == top else higher

    def told(self, question: Question, answer: str, rng: random.Random) -> str:
        """What an owner says where `answer` is true. An answer that is no grade is told as it is."""
        grades = GRADES.get(question, ())
        if answer not in grades:
            return answer
        grade, drawn = grades.index(answer), rng.random()
        lower, higher = self.chances(grade, len(grades) - 1)
        if drawn < lower:
            return grades[grade - 1]
        return grades[grade + 1] if drawn < lower + higher else answer


def kappa(weights: Iterable[tuple[int, int, float]]) -> float:
    """Cohen's kappa of (true grade, grade told, weight)."""
    true, told = defaultdict[int, float](float), defaultdict[int, float](float)
    same = whole = 0.0
    for one, other, weight in weights:
        true[one] += weight
        told[other] += weight
        same += weight if one == other else 0
        whole += weight
    expected = sum(true[grade] * told[grade] for grade in true) / whole**2
    return (same / whole - expected) / (1 - expected)


def errors_for(spread: Sequence[tuple[int, int]], wanted: float = KAPPA, *, end: float | None = None) -> Errors:
    """The errors that give the kappa over true answers, each a grade and its question's highest.

    `end`: the error at an end, where it is given; None: a quarter of the one between.
    """
    counted = Counter(spread)
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        between = (low + high) / 2
        if kappa(_told(counted, _errors(between, end))) > wanted:
            low = between
        else:
            high = between
    return _errors(low, end)


def _errors(between: float, end: float | None) -> Errors:
    return Errors(between / RARER_AT_AN_END if end is None else end, between)


def _told(counted: Counter[tuple[int, int]], errors: Errors) -> Iterable[tuple[int, int, float]]:
    for (grade, top), count in counted.items():
        lower, higher = errors.chances(grade, top)
        yield grade, grade, count * (1 - lower - higher)
        if lower:
            yield grade, grade - 1, count * lower
        if higher:
            yield grade, grade + 1, count * higher
