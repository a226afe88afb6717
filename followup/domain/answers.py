"""What can be asked of an animal, and the answers, each once, as the case format writes them."""

from __future__ import annotations

from enum import StrEnum


class Question(StrEnum):
    """What can be asked of an animal, as `observation` keys; parts of the wound are dotted."""

    APPETITE = "appetite"
    DRINKING = "drinking"
    FAECES = "faeces"
    URINE = "urine"
    DEMEANOUR = "demeanour"
    BREATHING = "breathing"
    GUMS = "gums"
    EDGES = "wound.edges"
    REDNESS = "wound.redness"
    SWELLING = "wound.swelling"
    DISCHARGE = "wound.discharge"
    BLEEDING = "wound.bleeding"
    SMELL = "wound.smell"
    INTERFERENCE = "wound.interference"
    GROIN = "scrotum_or_groin"
    SEIZURE = "seizure"
    BELLY = "belly"
    WARMTH = "warmth"
    MOUTH = "mouth"
    BALANCE = "balance"
    REAR_END = "rear_end"
    VULVA = "vulva"
    STITCHES = "stitches"
    COLLAR = "collar"
    COMPANY = "company"
    CONTACT_WITH_FEMALES = "contact_with_females"
    WORRIED = "worried"


NO, YES = "no", "yes"
"""The two answers to a question that the case format keeps as true or false."""

ANSWERS: dict[Question, tuple[str, ...]] = {
    Question.APPETITE: ("normal", "less", "a_few_bites", "none"),
    Question.DRINKING: ("normal", "less", "none", "more"),
    Question.FAECES: ("normal", "fewer", "soft", "night_droppings_left", "diarrhoea", "none"),
    Question.URINE: ("normal", "little", "straining", "bloody", "none"),
    Question.DEMEANOUR: ("bright", "quiet", "dull", "collapsed"),
    Question.BREATHING: ("normal", "fast", "laboured"),
    Question.GUMS: ("pink", "pale", "blue", "not_checked"),
    Question.EDGES: ("closed", "slightly_open", "gaping", "tissue_showing"),
    Question.REDNESS: ("none", "mild", "marked", "spreading"),
    Question.SWELLING: ("none", "mild", "marked", "growing", "soft_bulge"),
    Question.DISCHARGE: ("none", "clear", "blood_tinged", "pus"),
    Question.BLEEDING: ("none", "spots", "steady_drip"),
    Question.SMELL: (NO, YES),
    Question.INTERFERENCE: ("none", "some", "constant"),
    Question.GROIN: ("normal", "mild_swelling", "marked_swelling", "soft_bulge"),
    Question.SEIZURE: (NO, YES),
    Question.BELLY: ("soft", "swollen", "tight_or_drum", "not_checked"),
    Question.WARMTH: ("warm", "cool_ears_feet", "cold_all_over", "not_checked"),
    Question.MOUTH: ("normal", "wet_chin", "drops_food", "bleeding"),
    Question.BALANCE: ("normal", "wobbly", "head_tilt", "rolling", "hind_legs_weak"),
    Question.REAR_END: ("clean", "wet_or_soiled", "sore", "maggots_or_eggs"),
    Question.VULVA: ("normal", "spots", "bleeding", "pus"),
    Question.STITCHES: ("all_there", "some_missing", "cannot_tell", "none_to_see"),
    Question.COLLAR: ("on", "off_by_itself", "cannot_eat_or_drink", "rubbing", "none"),
    Question.COMPANY: ("as_planned", "fighting", "licks_wound", "alone_and_calling"),
    Question.CONTACT_WITH_FEMALES: (NO, YES),
    Question.WORRIED: ("no", "a_little", "very"),
}
"""The answers to each question, mildest first where they have an order."""


OTHER_KINDS: dict[Question, dict[str, tuple[str, ...]]] = {
    Question.DRINKING: {"more": ("normal",)},
    Question.FAECES: {
        "soft": ("normal",),
        "night_droppings_left": ("normal",),
        "diarrhoea": ("normal", "soft"),
        "none": ("normal", "fewer"),
    },
    Question.URINE: {"straining": ("normal",), "bloody": ("normal",), "none": ("normal", "little")},
    Question.GUMS: {"blue": ("pink",)},
    Question.COLLAR: {"cannot_eat_or_drink": ("on",)},
    Question.COMPANY: {"licks_wound": ("as_planned",)},
}
"""Answers that are another kind of trouble than those before them in the list. Source: clinical defaults, 4."""


def milder_than(question: Question, answer: str) -> tuple[str, ...]:
    """The answers that are better than `answer`, the best first. "Could not check" is never one of them."""
    kinds = OTHER_KINDS.get(question, {})
    if answer in kinds:
        return kinds[answer]
    order = ANSWERS[question]
    return order[: order.index(answer)]


class PainSign(StrEnum):
    """What a hurting animal shows. Not a pain scale: none is validated for guinea pigs."""

    HUNCHED = "hunched"
    TOOTH_GRINDING = "tooth_grinding"
    BELLY_PRESSING = "belly_pressing"
    RELUCTANT_TO_MOVE = "reluctant_to_move"
    HIDING = "hiding"
    VOCALISING = "vocalising"
    HALF_CLOSED_EYES = "half_closed_eyes"
    FLUFFED_COAT = "fluffed_coat"
    GUARDS_WOUND = "guards_wound"
    TREMBLING = "trembling"
    AGGRESSIVE_WHEN_TOUCHED = "aggressive_when_touched"


STRONG_PAIN_SIGNS = frozenset(
    {
        PainSign.TOOTH_GRINDING,
        PainSign.BELLY_PRESSING,
        PainSign.VOCALISING,
        PainSign.TREMBLING,
        PainSign.HUNCHED,
    }
)


class Unsure(StrEnum):
    """What an owner may answer "I am not sure" to."""

    APPETITE = "appetite"
    FAECES = "faeces"
    URINE = "urine"
    DEMEANOUR = "demeanour"
    BREATHING = "breathing"
    WOUND = "wound"
    DRINKING = "drinking"
    GUMS = "gums"
    WEIGHT = "weight"
    STITCHES = "stitches"
