"""What the simulation of smooth recoveries assumes, all in one place, written down before its first run.

"Smooth" is what section 12 of the clinical defaults calls normal: food, droppings and behaviour fade back in about two
days, a wound is a little wet, swollen and red and dries. No animal here has a complication. Hours are hours since the
end of surgery and hold for a patient of middle pace. Marks as in the protocols; D without more is our own guess.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from followup.domain.answers import PainSign, Question
from followup.domain.terms import Procedure, Species

GUINEA_PIG, RABBIT, CAT, DOG, FERRET, RAT = Species

SPECIES_MIX: Mapping[Species, float] = {GUINEA_PIG: 0.32, RABBIT: 0.32, CAT: 0.13, DOG: 0.13, FERRET: 0.05, RAT: 0.05}
PROCEDURE_MIX: Mapping[Procedure, float] = {
    Procedure.CASTRATION: 0.40,
    Procedure.SPAY: 0.30,
    Procedure.DENTAL: 0.12,
    Procedure.MASS_REMOVAL: 0.10,
    Procedure.SOFT_TISSUE_OTHER: 0.08,
}

PACE = 0.2
"""Individual variation: each patient's hours are multiplied by a log-normal factor of this sigma, and each sign's once
more by another (D): one patient in six is more than a fifth slower than the middle one, and as many faster."""


@dataclass(frozen=True)
class Fading:
    """`share` of patients show these answers, one after the other, each until its hour; then nothing is left."""

    question: Question
    steps: tuple[tuple[str, float], ...]
    share: float
    begins: float = 0


_WOUND = (
    Fading(Question.BLEEDING, (("spots", 14),), 0.5),  # section 12: spots on day 0, none on day 1
    Fading(Question.DISCHARGE, (("clear", 34),), 0.5),  # section 12: a little moist on day 1, dry on day 2
    Fading(Question.SWELLING, (("mild", 110),), 0.7),  # section 12: mild on day 3; gone by day 5 (P: with redness)
    Fading(Question.SWELLING, (("mild", 1000),), 0.3, begins=190),  # section 12: a firm ridge on days 8 to 13
    Fading(Question.REDNESS, (("mild", 110),), 0.5),  # P: gone by 5 to 7 days
    Fading(Question.INTERFERENCE, (("some", 40),), 0.5),  # section 12: licks a little on day 0
)
_AFTER_ANAESTHESIA = (
    Fading(Question.BREATHING, (("fast", 8),), 0.1),
    Fading(Question.WARMTH, (("cool_ears_feet", 6),), 0.1),
    Fading(Question.DRINKING, (("none", 14),), 0.4),  # section 12: not seen drinking on the first evening
)
_GRAZER = (
    # P: intake down for over 48 h in both groups after guinea pig castration (Gleeson 2016, n = 14); section 12: less
    # on the morning of day 2, normal that evening.
    Fading(Question.APPETITE, (("a_few_bites", 9), ("less", 48)), 0.25),
    Fading(Question.APPETITE, (("less", 48),), 0.9),
    Fading(Question.DEMEANOUR, (("quiet", 34),), 0.8),  # section 12: quiet on days 0 and 1, bright on day 2
    *_AFTER_ANAESTHESIA,
)
_OTHER = (
    Fading(Question.APPETITE, (("less", 26),), 0.7),  # section 12: a cat normal on day 1, a dog eats half, evening fine
    Fading(Question.DEMEANOUR, (("quiet", 24),), 0.8),
    *_AFTER_ANAESTHESIA,
)
FADINGS: Mapping[Species, tuple[Fading, ...]] = {
    GUINEA_PIG: (*_GRAZER, Fading(Question.FAECES, (("fewer", 38),), 0.8)),
    RABBIT: (
        *_GRAZER,
        Fading(Question.FAECES, (("fewer", 48),), 0.9),  # section 12: fewer on the morning of day 2
        Fading(Question.URINE, (("bloody", 1000),), 0.03),  # often plant pigment (P); the share D
    ),
    CAT: _OTHER,
    DOG: (*_OTHER, Fading(Question.DRINKING, (("more", 40),), 0.1, begins=20)),  # section 12: drinks more on day 1
    FERRET: _OTHER,
    RAT: _OTHER,
}
WOUND: tuple[Fading, ...] = _WOUND
"""Of every operation but a dental one."""
GROIN = Fading(Question.GROIN, (("mild_swelling", 80),), 0.7)
"""After a castration: P 24 to 72 h."""

PAIN: Mapping[Species, Mapping[PainSign, tuple[float, float]]] = {
    GUINEA_PIG: {PainSign.HIDING: (0.6, 34), PainSign.FLUFFED_COAT: (0.4, 14), PainSign.HUNCHED: (0.15, 14),
                 PainSign.RELUCTANT_TO_MOVE: (0.3, 20), PainSign.HALF_CLOSED_EYES: (0.15, 14)},
    RABBIT: {PainSign.HUNCHED: (0.4, 22), PainSign.HALF_CLOSED_EYES: (0.4, 34), PainSign.HIDING: (0.3, 34),
             PainSign.RELUCTANT_TO_MOVE: (0.5, 22), PainSign.FLUFFED_COAT: (0.1, 14)},
    CAT: {PainSign.HIDING: (0.5, 24), PainSign.RELUCTANT_TO_MOVE: (0.3, 20), PainSign.GUARDS_WOUND: (0.1, 24)},
    DOG: {PainSign.VOCALISING: (0.2, 14), PainSign.RELUCTANT_TO_MOVE: (0.4, 20), PainSign.GUARDS_WOUND: (0.1, 24)},
    FERRET: {PainSign.RELUCTANT_TO_MOVE: (0.3, 20), PainSign.HIDING: (0.3, 24)},
    RAT: {PainSign.FLUFFED_COAT: (0.3, 20), PainSign.HUNCHED: (0.15, 14), PainSign.HALF_CLOSED_EYES: (0.2, 14)},
}  # fmt: skip
"""Share of patients that show the sign, and until when: section 12; behaviour fades over 4 days after a rabbit's spay
(Leach 2009: P)."""

BURDEN: Mapping[Procedure, float] = {Procedure.MASS_REMOVAL: 0.6}
"""Small operations fade in this share of the hours; the others in all of them (D)."""


@dataclass(frozen=True)
class Habit:
    """How often a sign comes.

    `first`: median hours to the first (food: since discharge; else since surgery), log-normal with sigma `spread`.
    `every` hours from then on, and `slow` while it is reduced; each gap 0.3 to 1.7 times that.
    """

    first: float
    every: float
    slow: float
    spread: float = 0.35


FOOD: Mapping[Species, Habit] = {
    GUINEA_PIG: Habit(2.5, 1, 2, 0.6),  # section 12: home 16:30, ate 20:00
    RABBIT: Habit(2.5, 1, 2, 0.6),  # section 12: home 17:00, herbs 19:30
    CAT: Habit(5, 6, 8, 0.6),
    DOG: Habit(8, 11, 12, 0.6),  # section 12: refuses dinner, eats next day
    FERRET: Habit(2, 3, 4, 0.6),
    RAT: Habit(2, 2, 3, 0.6),
}
FAECES: Mapping[Species, Habit] = {
    GUINEA_PIG: Habit(5, 1, 3),  # section 12: 3.5 h after surgery
    RABBIT: Habit(15, 1, 3),  # section 12: 19 h; practice sheets "by the morning after" (P)
    CAT: Habit(36, 24, 24),  # section 12: day 2
    DOG: Habit(36, 14, 14),  # section 12: day 2
    FERRET: Habit(8, 5, 6),
    RAT: Habit(6, 3, 4),
}
URINE: Mapping[Species, Habit] = {
    GUINEA_PIG: Habit(5, 4, 5),
    RABBIT: Habit(5, 4, 5),
    CAT: Habit(18, 9, 9),  # section 12: seen on waking of day 1
    DOG: Habit(6, 6, 6),
    FERRET: Habit(5, 5, 5),
    RAT: Habit(4, 3, 3),
}
NONE_LATELY: Mapping[Species, tuple[float, float, float]] = {
    GUINEA_PIG: (4, 6, 8), RABBIT: (4, 6, 8), CAT: (12, 24, 12), DOG: (14, 24, 12), FERRET: (6, 12, 8), RAT: (6, 12, 8),
}  # fmt: skip
"""Hours without food, droppings, urine after which one says "none", if there was none since one was asked (D)."""

VOMITS_ONCE: Mapping[Species, float] = {CAT: 0.1, DOG: 0.15, FERRET: 0.05}
"""Share that vomits once in the first 20 h (section 12: the dog)."""
WEIGHT_LOSS = (0.025, 0.015)
"""Mean and sigma of the loss at its lowest, 48 h after surgery; made good by day 7 (section 12: −5.2 % on day 2)."""
SCALES_ERROR = 0.008

HOME_SCALES: Mapping[Species, float] = {GUINEA_PIG: 0.5, RABBIT: 0.4, CAT: 0.2, DOG: 0.2, FERRET: 0.3, RAT: 0.5}
ATE_IN_CLINIC: Mapping[Species, float] = {GUINEA_PIG: 0.9, RABBIT: 0.9, CAT: 0.5, DOG: 0.3, FERRET: 0.8, RAT: 0.8}
AWAY_AT_WORK = 0.3
"""Owners who are away from 9 to 17 from Monday to Friday."""
