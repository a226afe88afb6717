"""Every follow-up of a practice, to be searched and narrowed down. A read model; a page costs the same at any size."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.core.paginator import Page, Paginator
from django.db.models import Q

from clinic.models import Practice
from followup.models import Plan
from followup.models.plan import PlanQuerySet

ROWS = 50
"""Of one page."""
MOST_WORDS = 5
"""Of what is typed; more narrow down nothing."""


@dataclass(frozen=True)
class Wanted:
    """What is looked for; an empty field narrows nothing. `words`: each must be in a name or a number."""

    words: str = ""
    species: str = ""
    procedure: str = ""
    state: str = ""
    level: int | None = None
    since: dt.date | None = None
    until: dt.date | None = None

    @property
    def is_narrow(self) -> bool:
        """Whether anything is asked for at all."""
        return self != Wanted()


def search(practice: Practice, wanted: Wanted, *, page: str) -> Page[Plan]:
    """One page of the follow-ups that fit, the newest operation first. Two queries; a page that is none is the last."""
    found = _fitting(Plan.objects.of(practice), wanted).select_related("patient__owner", "closed_by")
    return Paginator(found.order_by("-operated_on", "-pk"), ROWS).get_page(page)


def _fitting(plans: PlanQuerySet, wanted: Wanted) -> PlanQuerySet:
    exact = {
        "patient__species": wanted.species,
        "procedure": wanted.procedure,
        "state": wanted.state,
        "level": wanted.level,
        "operated_on__gte": wanted.since,
        "operated_on__lte": wanted.until,
    }
    found = plans.filter(**{name: value for name, value in exact.items() if value not in {"", None}})
    for word in wanted.words.split()[:MOST_WORDS]:
        found = found.filter(_has(word))
    return found


def _has(word: str) -> Q:
    named = Q(patient__name__icontains=word) | Q(patient__owner__name__icontains=word)
    digits = "".join(sign for sign in word if sign.isdigit()).lstrip("0")
    if not digits:
        return named | Q(patient__owner__email__icontains=word)
    return named | Q(patient__owner__mobile__contains=digits) | Q(patient__owner__landline__contains=digits)
