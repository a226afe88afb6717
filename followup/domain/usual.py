"""What is usual after an operation, by time, species and wound: proposals, which owners read once a vet approves them.

Each stands for one answer that the protocols that ship hold on track for so long; a test weighs every one of them.
Source of the limits: clinical defaults, 4 (P: published; C, D: common practice, derived). The words are ours.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from followup.domain.case import Case
from followup.domain.question_words import gettext_noop
from followup.domain.suits import suits
from followup.domain.terms import GRAZERS, SMALL_MAMMALS, Closure, Procedure, Species

_ = gettext_noop
A_DAY, A_WEEK = dt.timedelta(hours=24), dt.timedelta(days=7)


@dataclass(frozen=True)
class Usual:
    """One thing that owners ask about. `answer`: to which question, and which answer it is. `until`: since surgery."""

    key: str
    heading: str
    words: str
    answer: tuple[str, str]
    until: dt.timedelta
    fits: Callable[[Case], bool] = lambda _case: True
    mark: str = "P"
    whom: str = "every species"
    """Of whom it is said, for staff."""


SOURCES = {"P": "published", "C": "common practice", "D": "derived by us"}
"""What a mark means."""


def _left_open(case: Case) -> bool:
    return case.discharge.closure is Closure.LEFT_OPEN


def _grooms(case: Case) -> bool:
    return case.procedure is Procedure.CASTRATION or case.patient.species in SMALL_MAMMALS


USUAL: tuple[Usual, ...] = (
    Usual(
        "quiet",
        _("A bit quieter than usual"),
        _("Usual for the first two days. Takes little notice, or cannot be woken? Phone at once."),
        ("demeanour", "quiet"),
        2 * A_DAY,
        mark="C",
    ),
    Usual(
        "hides",
        _("Hides more than usual"),
        _("Usual on the first day, if food is still taken. Hunched, grinding the teeth, or not eating? Phone."),
        ("pain_signs", "hiding"),
        A_DAY,
        mark="D",
    ),
    Usual(
        "eats_less",
        _("Eats less than usual"),
        _("Usual on the first day. Nothing at all, or still less on the second day? Tell us."),
        ("appetite", "less"),
        A_DAY,
        fits=lambda case: case.patient.species in {Species.CAT, Species.DOG, Species.RAT},
        whom="cats, dogs and rats",
    ),
    Usual(
        "fewer_droppings",
        _("Fewer droppings than usual"),
        _("Usual in the first days, as less was eaten. Straining, or blood? Phone."),
        ("faeces", "fewer"),
        3 * A_DAY,
        fits=lambda case: case.patient.species not in GRAZERS,
        mark="C",
        whom="cats, dogs, ferrets and rats",
    ),
    Usual(
        "soft_droppings",
        _("Soft droppings"),
        _("Usual for the first two days. Runny or watery, or none? Phone."),
        ("faeces", "soft"),
        2 * A_DAY,
    ),
    Usual(
        "drinks_less",
        _("Drinks less than usual"),
        _("Usual while little is eaten. Not eating as well? Phone."),
        ("drinking", "less"),
        2 * A_DAY,
        mark="C",
    ),
    Usual(
        "damp_wound",
        _("The wound is a little damp, clear or pink"),
        _("Usual on the first day. Thick yellow, green or white fluid, or a bad smell? Phone."),
        ("wound.discharge", "clear"),
        A_DAY,
        fits=lambda case: suits("wound.discharge", case),
        whom="every wound in the skin",
    ),
    Usual(
        "spots_of_blood",
        _("A few spots of blood"),
        _("Usual on the first day, since this wound was left open. It drips? Phone at once."),
        ("wound.bleeding", "spots"),
        A_DAY,
        fits=lambda case: suits("wound.bleeding", case) and _left_open(case),
        whom="wounds that were left open",
    ),
    Usual(
        "red_edge",
        _("The skin is a little red close to the wound"),
        _("Usual for the first week. Very red, or spreading? Phone."),
        ("wound.redness", "mild"),
        A_WEEK,
        fits=lambda case: suits("wound.redness", case),
        whom="every wound in the skin",
    ),
    Usual(
        "little_swelling",
        _("A little swelling along the wound"),
        _("Usual for the first week. A firm, dry ridge can stay for six weeks. Bigger every day, or soft? Phone."),
        ("wound.swelling", "mild"),
        A_WEEK,
        fits=lambda case: suits("wound.swelling", case),
        whom="every wound in the skin",
    ),
    Usual(
        "swollen_pouch",
        _("The pouch is a little swollen"),
        _("Usual for five days; after that it is flat and empty. A lump that goes in and out? Phone at once."),
        ("scrotum_or_groin", "mild_swelling"),
        5 * A_DAY,
        fits=lambda case: suits("scrotum_or_groin", case),
        whom="after a castration",
    ),
    Usual(
        "grooms_wound",
        _("Grooms the wound now and then"),
        _("Usual for three days. All the time, or chewing? Phone."),
        ("wound.interference", "some"),
        3 * A_DAY,
        fits=lambda case: suits("wound.interference", case) and _grooms(case),
        whom="small mammals, and after a castration",
    ),
)
BY_KEY = {each.key: each for each in USUAL}


def usual_now(case: Case, now: dt.datetime) -> tuple[Usual, ...]:
    """Those that fit the patient and are still usual at `now`."""
    passed = case.since_surgery(now)
    return tuple(each for each in USUAL if passed < each.until and each.fits(case))
