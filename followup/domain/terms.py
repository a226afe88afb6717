"""The words of the trade, each once.

Values are those of the recovery-case format (see `followup/schemas/case.schema.json`): what an owner
answers, what a nurse writes on the discharge card, and what a verdict says. Nothing here decides.
"""

from __future__ import annotations

from enum import IntEnum, StrEnum


class FollowUpError(Exception):
    """A refusal, written for the person who reads it. `field` names where to show it, if anywhere."""

    def __init__(self, message: str, *, field: str = "") -> None:
        """Keep where the refusal belongs beside its words."""
        super().__init__(message)
        self.field = field


class Level(IntEnum):
    """How soon a person must look. Ordered: a higher value is worse. Source: clinical defaults, 1."""

    ON_TRACK = 0
    MONITOR = 1
    URGENT = 2
    EMERGENCY = 3

    @property
    def word(self) -> str:
        """The level as it is stored and printed: `on_track`, `monitor`, `urgent`, `emergency`."""
        return self.name.lower()

    @classmethod
    def from_word(cls, word: str) -> Level:
        """The level that `word` names; raises KeyError for any other word."""
        return cls[word.upper()]

    def one_less(self) -> Level:
        """The next milder level; on_track stays on_track."""
        return Level(max(self - 1, 0))


class Species(StrEnum):
    """The six species that are followed up."""

    GUINEA_PIG = "guinea_pig"
    RABBIT = "rabbit"
    CAT = "cat"
    DOG = "dog"
    FERRET = "ferret"
    RAT = "rat"


GRAZERS = frozenset({Species.GUINEA_PIG, Species.RABBIT})
"""Small herbivores: their gut stops when they do not eat. The tables call them "sh"."""

SMALL_MAMMALS = GRAZERS | {Species.FERRET, Species.RAT}
"""Guinea pig, rabbit, ferret, rat."""


class Sex(StrEnum):
    """As on the patient's record."""

    MALE = "male"
    FEMALE = "female"
    UNKNOWN = "unknown"


class Procedure(StrEnum):
    """What was done."""

    CASTRATION = "castration"
    SPAY = "spay"
    MASS_REMOVAL = "mass_removal"
    DENTAL = "dental"
    SOFT_TISSUE_OTHER = "soft_tissue_other"


class Jurisdiction(StrEnum):
    """Whose product information sets the regimen."""

    EU_UK = "eu_uk"
    US = "us"
    OTHER = "other"


class Approach(StrEnum):
    """Where the surgeon went in."""

    SCROTAL = "scrotal"
    PRESCROTAL = "prescrotal"
    INGUINAL = "inguinal"
    MIDLINE = "midline"
    FLANK = "flank"
    ORAL = "oral"
    OTHER = "other"


class Closure(StrEnum):
    """How the skin was closed."""

    BURIED = "buried"
    SKIN_STITCHES = "skin_stitches"
    STAPLES = "staples"
    GLUE = "glue"
    LEFT_OPEN = "left_open"
    NONE = "none"


class RingOrTunic(StrEnum):
    """Whether the way from belly to scrotum was closed."""

    CLOSED = "closed"
    OPEN = "open"
    UNKNOWN = "unknown"


class BloodLoss(StrEnum):
    """At surgery."""

    AS_USUAL = "as_usual"
    MORE_THAN_USUAL = "more_than_usual"


class Company(StrEnum):
    """Whom the patient goes home to."""

    ALONE = "alone"
    BONDED = "bonded"
    GROUP = "group"
    WITH_ENTIRE_FEMALES = "with_entire_females"


class Caution(StrEnum):
    """What makes an NSAID unsafe without the vet's decision."""

    DEHYDRATED = "dehydrated"
    KIDNEY_DISEASE = "kidney_disease"
    LIVER_DISEASE = "liver_disease"
    HEART_DISEASE = "heart_disease"
    GUT_ULCER = "gut_ulcer"
    BLEEDING_DISORDER = "bleeding_disorder"
    ON_STEROID = "on_steroid"
    ON_OTHER_NSAID = "on_other_nsaid"
    PREGNANT = "pregnant"
    NURSING = "nursing"
    UNDER_MINIMUM_AGE = "under_minimum_age"


class ClinicRoute(StrEnum):
    """How a drug was given in the clinic."""

    SC = "sc"
    IM = "im"
    IV = "iv"
    PO = "po"
    LOCAL = "local"
    TRANSMUCOSAL = "transmucosal"


class Formulation(StrEnum):
    """Of an injection: how long it lasts."""

    STANDARD = "standard"
    HOURS_24 = "24_h"
    SLOW_RELEASE = "slow_release"


class Form(StrEnum):
    """Of a medicine that goes home."""

    LIQUID = "liquid"
    TABLET = "tablet"
    FIXED = "fixed"


class HomeRoute(StrEnum):
    """How the owner gives it."""

    PO = "po"
    CHEEK = "cheek"
    EYE = "eye"
    EAR = "ear"
    SKIN = "skin"


class DoseOutcome(StrEnum):
    """What became of a dose."""

    GIVEN = "given"
    MISSED = "missed"
    REFUSED = "refused"
    SPAT_OUT = "spat_out"
    VOMITED = "vomited"
    WENT_WRONG = "went_wrong"

    @property
    def words(self) -> str:
        """As staff read it."""
        return self.value.replace("_", " ")


class Concern(StrEnum):
    """What a finding is about; one flag gathers the findings of one concern."""

    EATING = "eating"
    DROPPINGS = "droppings"
    URINE = "urine"
    BREATHING = "breathing"
    BEHAVIOUR = "behaviour"
    BELLY = "belly"
    PAIN = "pain"
    WOUND = "wound"
    GROIN = "groin"
    WEIGHT = "weight"
    MOUTH = "mouth"
    BALANCE = "balance"
    MEDICINE = "medicine"
    COMPANY = "company"
    SILENCE = "silence"
    WORDS = "words"
    WORRY = "worry"


class Certainty(StrEnum):
    """Whether the answers settle a limit or only allow it."""

    CERTAIN = "certain"
    POSSIBLE = "possible"


class Heard(StrEnum):
    """Whether the last check-in was answered. Source: clinical defaults, 5."""

    HEARD = "heard"
    WAITING = "waiting"
    NOT_HEARD_FROM = "not_heard_from"


class Observer(StrEnum):
    """Who made an observation."""

    OWNER = "owner"
    STAFF = "staff"


class ProblemKind(StrEnum):
    """What stands against a plan as it was asked for."""

    REFUSED = "refused"
    NEEDS_VET = "needs_vet"
    WARNING = "warning"


class Mark(StrEnum):
    """Where a clinical value comes from."""

    PUBLISHED = "P"
    FROM_MEMORY = "M"
    COMMON_PRACTICE = "C"
    DERIVED = "D"


class Sign(StrEnum):
    """What has a clock: hours without it are counted. Source: clinical defaults, 6."""

    FOOD = "food"
    MEAL = "meal"
    FAECES = "faeces"
    URINE = "urine"


class CheckInKind(StrEnum):
    """Which moment of the owner's day a check-in belongs to."""

    EVENING = "evening"
    BEDTIME = "bedtime"
    WAKING = "waking"
    OUTCOME = "outcome"
    EXTRA = "extra"


class Outcome(StrEnum):
    """How a recovery ended, for the outcome audit. Source: clinical defaults, 7."""

    NONE = "none"
    ABNORMAL_NO_TREATMENT = "abnormal_no_treatment"
    MEDICAL_TREATMENT = "medical_treatment"
    SURGICAL_TREATMENT = "surgical_treatment"
    DIED = "died"
    LOST = "lost"
