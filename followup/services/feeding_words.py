"""Feeding and the wound as the sheet says them. Amounts only where the vet wrote them.

Source: clinical defaults, 2, 9 and 10. Hay, water and greens for grazers: C; no syringe in a tight belly, in one who
does not swallow, or on the back: P; limits of 6 and 12 hours: P, levels derived.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from followup.domain.case import Case, DischargeCard
from followup.domain.compiled import Feeding
from followup.domain.exact import decimal, exact, plain
from followup.domain.terms import GRAZERS, SMALL_MAMMALS, Closure, Company

ONE_PLACE = Decimal("0.1")
"""Of a millilitre: finer than that nobody feeds."""
WITH_FRIENDS = frozenset({Company.BONDED, Company.GROUP})
CLOSURES = {
    Closure.SKIN_STITCHES: gettext_noop("The stitches must be taken out: ask us when."),
    Closure.STAPLES: gettext_noop("The staples must be taken out: ask us when."),
    Closure.BURIED: gettext_noop("The stitches are under the skin and go away by themselves."),
    Closure.GLUE: gettext_noop("The wound is glued: flakes come off by themselves in 7 to 10 days."),
}


def feeding_words(case: Case, feeding: Feeding) -> tuple[str, ...]:
    """What to feed, and when never to."""
    if case.patient.species not in GRAZERS:
        return (_("Fresh water at all times. Small meals of the usual food today."), *_by_the_vet(case, feeding))
    return (
        _("Hay and fresh water at all times, near the bed, and the greens or herbs that are liked best."),
        _("Eating is what matters most. Nothing eaten for 6 hours: phone. For 12 hours: it is an emergency."),
        *_by_the_vet(case, feeding),
        _(
            "Never feed with a syringe when the belly is tight or swollen, without swallowing, lying flat, or on the "
            "back. In an emergency phone first, and feed only if they say so."
        ),
    )


def wound_words(case: Case) -> tuple[str, ...]:
    """What is to be known of the wound's closure, and of the friend who may lick it."""
    return (*_closure(case.discharge), *_friend(case))


def _closure(card: DischargeCard) -> Iterator[str]:
    if card.stitches_out_on is not None:
        yield _("Stitches come out on %(day)s.") % {"day": date_format(card.stitches_out_on, "l j F")}
    elif card.closure in CLOSURES:
        yield _(CLOSURES[card.closure])


def _friend(case: Case) -> Iterator[str]:
    """Source: clinical defaults, 10 (C)."""
    if case.patient.species in SMALL_MAMMALS and case.discharge.company in WITH_FRIENDS:
        yield _("Near the friend, with a mesh between for the first two nights: company helps, licking does not.")


def _by_the_vet(case: Case, feeding: Feeding) -> Iterator[str]:
    """The vet's own amounts, and the plan for the nights."""
    a_day, meals = case.discharge.feeding_ml_per_day, feeding.meals_per_day
    if a_day is not None:
        amount = _("Recovery feed by your vet's plan: %(amount)s ml a day, made up with water.")
        yield amount % {"amount": plain(exact(a_day))} + (f" {_in_meals(a_day, meals)}" if meals else "")
    if case.discharge.night_plan:
        yield _("Your vet has written a feeding plan for the nights: keep to it.")


def _in_meals(a_day: float, meals: int) -> str:
    each = plain(decimal(exact(a_day) / meals, ONE_PLACE))
    return _("That is %(meals)d meals of about %(each)s ml.") % {"meals": meals, "each": each}
