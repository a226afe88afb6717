"""What one recipient's page shows: the follow-ups he answers for, what is due, and the numbers that answer now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q
from django.utils.translation import gettext as _

from clinic.models import Practice
from clinic.models.practice import SPECIES
from followup.domain.advice import Line, whom_to_call
from followup.domain.questions import next_question
from followup.domain.silence import EARLY_ANSWER
from followup.domain.terms import Level, Species
from followup.domain.why_silent import WHY_SILENT
from followup.models import CheckIn, Dose, Notice, Plan, Recipient, Reply
from followup.models.plan import PlanQuerySet
from followup.services.advice import moment_of, told_time
from followup.services.facts import case_to_ask, hours_of, readable
from followup.services.notices import to_ask_on_waking
from followup.services.raw_answers import entries_of, given_in

DOSE_SHOWN_BEFORE = dt.timedelta(hours=1)
"""A dose appears on the page this long before its time."""
ENDED_SHOWN = dt.timedelta(days=30)
"""For so long an ended follow-up is still named on the page. A surgical infection is defined to day 30."""
GOES_ON_WITHIN = dt.timedelta(hours=1)
"""A check-in that was left can be gone on with for so long; then what was seen is old, and is asked anew."""


@dataclass(frozen=True)
class DueDose:
    """One dose to give or to tell about. `held`: phone before giving it."""

    pk: int
    words: str
    when: str
    held: bool


@dataclass(frozen=True)
class Row:
    """One running follow-up on the page. `emergency`: what is known so far needs a vet now."""

    plan: int
    patient: str
    day: int
    due: bool
    next_time: str
    unfinished: str
    doses: tuple[DueDose, ...]
    weighs: bool
    paused: bool
    species: str
    species_words: str
    emergency: bool


@dataclass(frozen=True)
class Number:
    """Who answers for which species at this hour."""

    species: str
    line: Line


@dataclass(frozen=True)
class OwnerPage:
    """`ended` are names of animals whose follow-up is over, `died` of those for whom it ended so.

    `day_30`: of whom it is asked how it turned out. `reached`: of whom it is asked whether a vet was reached in the
    night, and nobody knows yet. `together`: those due now, where they are several and are asked one
    after the other; `round`: the id of a round that was begun and not ended, else empty.
    """

    practice: Practice
    rows: tuple[Row, ...]
    ended: tuple[str, ...]
    died: tuple[str, ...]
    day_30: tuple[Plan, ...]
    numbers: tuple[Number, ...]
    reached: tuple[Plan, ...] = ()
    together: tuple[Row, ...] = ()
    round: str = ""


def plans_of(recipient: Recipient) -> PlanQuerySet:
    """Every confirmed follow-up that this person answers for here, ended ones included."""
    person = Q(patient__owner=recipient.person) | Q(patient__carers__person=recipient.person)
    found = Plan.objects.of(recipient.practice).filter(person, confirmed_at__isnull=False)
    return found.exclude(state=Plan.State.TAKEN_BACK).select_related("patient", "practice", "protocol").distinct()


def running_plan(recipient: Recipient, pk: int) -> Plan | None:
    """One running follow-up of this person."""
    return plans_of(recipient).running().filter(pk=pk).first()


def due_check_ins(plan: Plan, now: dt.datetime) -> list[CheckIn]:
    """What is asked now: open, or due within the hour. Oldest first."""
    waiting = plan.check_ins.filter(state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED])
    return list(waiting.filter(at__lte=now + EARLY_ANSWER).order_by("at", "pk"))


def owner_page(recipient: Recipient, *, now: dt.datetime) -> OwnerPage:
    """The whole page at `now`."""
    plans = list(plans_of(recipient).order_by("patient__name", "pk"))
    running = [plan for plan in plans if plan.state == Plan.State.RUNNING]
    closed = [plan for plan in plans if plan.closed_at is not None and plan.closed_at > now - ENDED_SHOWN]
    rows = tuple(_row(plan, recipient, now) for plan in running)
    asked = tuple(row for row in rows if not row.paused and (row.due or row.unfinished))
    together = asked if len(asked) > 1 else ()
    return OwnerPage(
        practice=recipient.practice,
        rows=rows,
        together=together,
        round=next(filter(None, map(_round, together)), ""),
        ended=tuple(dict.fromkeys(plan.patient.name for plan in closed if plan.patient.died_at is None)),
        died=tuple(dict.fromkeys(plan.patient.name for plan in closed if plan.patient.died_at is not None)),
        day_30=_to_ask_on_day_30(plans, now),
        reached=to_ask_on_waking(running, now=now),
        numbers=numbers(recipient.practice, (plan.patient.species for plan in plans), now=now),
    )


def numbers(practice: Practice, species: Iterable[str], *, now: dt.datetime) -> tuple[Number, ...]:
    """Who answers now, for each of these species; every species the practice knows of when none is given."""
    asked = list(dict.fromkeys(species)) or [provider.species for provider in practice.providers.all()]
    lines = {each: whom_to_call(moment_of(practice, Species(each), now=now)).line for each in asked}
    if len(set(lines.values())) == 1:
        return (Number("", next(iter(lines.values()))),)
    names = dict(SPECIES)
    return tuple(Number(names[each], line) for each, line in lines.items())


@dataclass(frozen=True)
class OthersDose:
    """A dose of another patient of the same person, due at the same time."""

    plan: int
    patient: str
    dose: DueDose


def others_doses(recipient: Recipient, besides: Plan, *, now: dt.datetime) -> tuple[OthersDose, ...]:
    """What could be mixed up with a dose of this patient."""
    others = plans_of(recipient).running().filter(paused="").exclude(pk=besides.pk).order_by("patient__name", "pk")
    return tuple(
        OthersDose(plan.pk, plan.patient.name, _dose(dose, plan, now)) for plan in others for dose in _doses(plan, now)
    )


def due_dose(plan: Plan, pk: int, *, now: dt.datetime) -> DueDose | None:
    """One dose of this plan, told of or not; None for any other."""
    found = plan.doses.filter(pk=pk).exclude(state=Dose.State.CANCELLED).first()
    return _dose(found, plan, now) if found is not None else None


def _row(plan: Plan, recipient: Recipient, now: dt.datetime) -> Row:
    hours = hours_of(plan)
    ahead = plan.check_ins.filter(state=CheckIn.State.PLANNED, at__gt=now + EARLY_ANSWER).order_by("at", "pk").first()
    draft = _draft(plan, recipient, now)
    return Row(
        plan=plan.pk,
        patient=plan.patient.name,
        day=max(plan.day(now), 0),
        due=bool(due_check_ins(plan, now)),
        next_time=told_time(ahead.at, hours, now=now) if ahead is not None else "",
        unfinished=draft.client_id if draft is not None else "",
        doses=() if plan.paused else tuple(_dose(dose, plan, now) for dose in _doses(plan, now)),
        weighs=readable(lambda: bool(plan.case.get("discharge", {}).get("home_scales")), otherwise=False),
        paused=bool(plan.paused),
        species=plan.patient.species,
        species_words=plan.patient.get_species_display(),
        emergency=plan.level == Level.EMERGENCY and not plan.paused,
    )


def _round(row: Row) -> str:
    """The round in which this patient's check-in was begun, so that it is gone on with; empty: none, or alone."""
    begun = row.unfinished.removesuffix(f"-{row.plan}")
    return begun if begun != row.unfinished else ""


def _to_ask_on_day_30(plans: Iterable[Plan], now: dt.datetime) -> tuple[Plan, ...]:
    waiting = Notice.objects.how_it_turned_out(now).filter(answer="", at__gt=now - ENDED_SHOWN, plan__in=plans)
    return tuple(notice.plan for notice in waiting.select_related("plan__patient").order_by("at", "pk"))


def _draft(plan: Plan, recipient: Recipient, now: dt.datetime) -> Reply | None:
    """A check-in that this person began within the hour and has not ended, red answer in the middle or not."""
    begun = plan.replies.filter(recipient=recipient, raw__has_key="entries").order_by("received_at", "pk").last()
    entries = entries_of(begun) if begun is not None else ()
    if begun is None or not entries or entries[-1].at < now - GOES_ON_WITHIN:
        return None
    following = next_question(begun.raw["questions"], given_in(begun), case_to_ask(plan))
    return begun if following not in {None, WHY_SILENT} else None


def _doses(plan: Plan, now: dt.datetime) -> Iterable[Dose]:
    waiting = plan.doses.filter(state=Dose.State.PLANNED, at__lte=now + DOSE_SHOWN_BEFORE)
    return waiting.order_by("at", "pk")


def _dose(dose: Dose, plan: Plan, now: dt.datetime) -> DueDose:
    strength = f" ({dose.strength})" if dose.strength else ""
    words = _("%(amount)s of %(drug)s") % {"amount": dose.amount, "drug": f"{dose.drug}{strength}"}
    return DueDose(dose.pk, words, told_time(dose.at, hours_of(plan), now=now), dose.held)
