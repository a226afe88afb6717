"""The page of one patient behind the owner's link: the next dose, today, the days to come, weights, what was told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.terms import Level
from followup.drawing.weight import Weighing, WeightDrawing, draw_weight
from followup.models import CheckIn, Dose, Flag, Message, Plan, Recipient, Reply
from followup.services.advice import told_time
from followup.services.calendar import CalendarDay, calendar_of
from followup.services.facts import case_of, compiled_of, hours_of, observations_of
from followup.services.kind_words import kind_of
from followup.services.owner_page import DOSE_SHOWN_BEFORE
from followup.services.plan_words import ROUTES, restriction_words
from followup.services.raw_answers import given_in
from followup.services.syringe import Syringe, syringe
from followup.services.timeline import answers_in
from followup.services.usual_words import ReadAsUsual, usual_for
from followup.services.weight_picture import weighings

MOST_TOLD = 30
"""Replies on the page, newest first: a fortnight of check-ins is fewer."""


@dataclass(frozen=True)
class NextDose:
    """The dose to give next. `now`: it may be told of; `held`: phone first; `syringe`: of a liquid, with its mark."""

    pk: int
    amount: str
    drug: str
    strength: str
    how: str
    when: str
    now: bool
    held: bool
    syringe: Syringe | None


@dataclass(frozen=True)
class Look:
    """A check-in of today: when, and what became of it."""

    when: str
    words: str


@dataclass(frozen=True)
class Weighed:
    """One weighing in grams, at home or in the clinic."""

    when: str
    grams: str
    at_home: bool


@dataclass(frozen=True)
class Told:
    """One reply: when it came, from whom, the owner's words, and each question with its answer."""

    when: str
    who: str
    words: str
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class OwnerPatient:
    """The whole page. `change`: the session whose answers can still be changed; empty: the clinic has looked, or none.

    `looked`: who looked last at what was told, newest first. `steady`: nothing worries, and the days go as they should.
    `may_add`: this person may name someone who helps.
    """

    patient: str
    species: str
    day: int
    last_day: int
    next_dose: NextDose | None
    today: tuple[Look, ...]
    days: tuple[CalendarDay, ...]
    restrictions: tuple[tuple[str, str], ...]
    weights: tuple[Weighed, ...]
    drawing: WeightDrawing | None
    told: tuple[Told, ...]
    change: str
    looked: tuple[str, ...]
    steady: bool
    emergency: bool
    may_add: bool
    usual: tuple[ReadAsUsual, ...]


def owner_patient(plan: Plan, recipient: Recipient, *, now: dt.datetime) -> OwnerPatient:
    """The page at `now`, in the language that is active."""
    case, compiled = case_of(plan), compiled_of(plan)
    doses = list(plan.doses.exclude(state=Dose.State.CANCELLED).order_by("at", "pk"))
    weighed = weighings(case, plan.patient.weights.all(), observations_of(plan))
    return OwnerPatient(
        patient=plan.patient.name,
        species=kind_of(plan.patient),
        day=max(plan.day(now), 0),
        last_day=case.day(compiled.sign_off_at),
        next_dose=None if plan.paused else _next_dose(plan, doses, compiled, now=now),
        today=tuple(_today(plan, case, now=now)),
        days=calendar_of(case, compiled, doses),
        restrictions=tuple(_restrictions(case, compiled, now=now)),
        weights=tuple(_weighed(each, case) for each in reversed(weighed)),
        drawing=draw_weight(case, [], weighed, until=compiled.sign_off_at) if len(weighed) > 1 else None,
        told=tuple(_told(plan, case)),
        change=_to_change(plan, recipient, case, now=now),
        looked=tuple(_looked(plan, case)),
        steady=not plan.level and not plan.paused and plan.day(now) > 0,
        emergency=plan.level == Level.EMERGENCY and not plan.paused,
        usual=usual_for(plan.practice, case, now=now),
        may_add=recipient.part != Recipient.Part.SECOND_CARER,
    )


def _next_dose(plan: Plan, doses: list[Dose], compiled: CompiledPlan, *, now: dt.datetime) -> NextDose | None:
    to_give = (each for each in doses if each.state == Dose.State.PLANNED and each.give_until > now)
    row = next(to_give, None)  # one that it is too late for is told of on the list, and never shown as to be given
    if row is None:
        return None
    medicine = next((each for each in compiled.medication if each.drug == row.drug), None)
    dose = next((each for each in medicine.doses if each.number == row.number), None) if medicine is not None else None
    drawn = None
    if medicine is not None and medicine.syringe_ml is not None and dose is not None and dose.ml is not None:
        drawn = syringe(medicine.syringe_ml, dose.ml)
    return NextDose(
        pk=row.pk,
        amount=row.amount,
        drug=row.drug,
        strength=row.strength,
        how=_(ROUTES[medicine.route]) if medicine is not None else "",
        when=told_time(row.at, hours_of(plan), now=now),
        now=row.at - DOSE_SHOWN_BEFORE <= now,
        held=row.held,
        syringe=drawn,
    )


def _today(plan: Plan, case: Case, *, now: dt.datetime) -> Iterator[Look]:
    today = case.hours.local(now).date()
    for each in plan.check_ins.exclude(state=CheckIn.State.CANCELLED).order_by("at", "pk"):
        local = case.hours.local(each.at)
        if local.date() != today:
            continue
        answered = each.state == CheckIn.State.ANSWERED
        waits = each.at <= now and not answered
        words = _("told, thank you") if answered else _("we wait for your answer") if waits else _("we ask you then")
        yield Look(f"{local:%H:%M}", words)


def _restrictions(case: Case, compiled: CompiledPlan, *, now: dt.datetime) -> Iterator[tuple[str, str]]:
    for each in compiled.restrictions:
        if each.until > now:
            yield restriction_words(each.what), date_format(case.hours.local(each.until), "D j M")


def _weighed(each: Weighing, case: Case) -> Weighed:
    return Weighed(date_format(case.hours.local(each.at), "D j M, H:i"), f"{each.grams.normalize():f}", each.at_home)


def _told(plan: Plan, case: Case) -> Iterator[Told]:
    newest = plan.replies.select_related("recipient__person", "staff").order_by("-received_at", "-pk")
    for reply in newest[:MOST_TOLD]:
        answers = answers_in(reply, plan.patient.name)
        if not answers and not reply.text:
            continue
        who = _("by phone") if reply.staff_id else str(reply.recipient.person if reply.recipient else "")
        when = date_format(case.hours.local(reply.received_at), "D j M, H:i")
        yield Told(when, who, reply.text, tuple(each for each in answers if each[1] != reply.text))


def _to_change(plan: Plan, recipient: Recipient, case: Case, *, now: dt.datetime) -> str:
    """The newest check-in of this person, of today, at which nobody in the clinic has looked yet."""
    newest = plan.replies.filter(recipient=recipient, raw__has_key="entries").order_by("received_at", "pk").last()
    if newest is None or not given_in(newest) or not _is_today(newest, case, now):
        return ""
    looked = plan.events.filter(what__in=LOOKED, at__gte=newest.received_at).exists()
    return "" if looked or newest.state == Reply.State.READ else newest.client_id


LOOKED = ("seen", "flag_reviewed", "wound_reviewed", "acknowledged")
"""Events in which somebody of the clinic has looked at what was told."""


def _is_today(reply: Reply, case: Case, now: dt.datetime) -> bool:
    return case.hours.local(reply.received_at).date() == case.hours.local(now).date()


def _looked(plan: Plan, case: Case) -> Iterator[str]:
    """The newest alert of an open flag, and who has looked."""
    alerts = plan.messages.filter(purpose=Message.Purpose.ALERT, state=Message.State.SENT)
    alert = alerts.filter(flag__state=Flag.State.OPEN).order_by("sent_at").last()
    if alert is not None and alert.sent_at is not None:
        alerted = _("%(practice)s was alerted: %(when)s. Do not wait for a call: phone.")
        sent_at = date_format(case.hours.local(alert.sent_at), "D j M, H:i")
        yield alerted % {"practice": plan.practice.name, "when": sent_at}
    expected = {review.pk: review.day for review in plan.wound_reviews.filter(as_expected=True)}
    for each in plan.events.filter(what__in=LOOKED, staff__isnull=False).select_related("staff").order_by("-at")[:3]:
        words = {"who": each.staff, "when": date_format(case.hours.local(each.at), "D j M, H:i")}
        day = expected.get(each.data.get("review"))
        if day is None:
            yield _("%(who)s looked at what you told us: %(when)s.") % words
        else:
            said = _("%(who)s looked at the wound: %(when)s. It looks as expected on day %(day)s.")
            yield said % {**words, "day": day}
