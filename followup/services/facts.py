"""Stored facts as domain values: what a decision about one plan needs to know."""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar
from zoneinfo import ZoneInfo

from clinic.models import Owner
from followup.casefile import compiled_from_json, read_case, read_observation
from followup.domain.answers import YES, Question
from followup.domain.case import Case
from followup.domain.case import Patient as PatientFacts
from followup.domain.compiled import CompiledPlan, PlannedCheckIn
from followup.domain.hours import OwnerHours
from followup.domain.observation import Observation
from followup.domain.protocol import Protocol
from followup.domain.recovery import Recovery, Release, Reviewed
from followup.domain.terms import CheckInKind, Concern, FollowUpError, Procedure, Sex, Species
from followup.domain.why_silent import Why, WhySilent
from followup.models import CheckIn, Flag, Plan, Reply
from followup.protocols.load import parse
from followup.services.raw_answers import why_silent_in
from followup.vocabulary.load import vocabulary

logger = logging.getLogger(__name__)

Found = TypeVar("Found")

UNREADABLE = (FollowUpError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
"""What reading raises where stored facts or a protocol are not what they should be. A database that is gone is not
among them: then there is no page to go on with."""


def readable(read: Callable[[], Found], *, otherwise: Found) -> Found:
    """What is stored, or something to go on with: no page is shut, and no answer refused, by what cannot be read.

    The fault itself is written down, and a person called, by `assess`.
    """
    try:
        return read()
    except UNREADABLE as fault:
        logger.warning("what is stored cannot be read: %s", type(fault).__name__)
        return otherwise


def case_of(plan: Plan) -> Case:
    """The recovery's facts, without observations."""
    return replace(
        read_case(plan.case),
        operated_on=plan.operated_on,
        dosing_weight_g=plan.dosing_weight_g,
        home_again_at=plan.home_again_at,
    )


def compiled_of(plan: Plan) -> CompiledPlan:
    """What was computed when the plan was made."""
    return compiled_from_json(plan.compiled)


def observations_of(plan: Plan, replies: Sequence[Reply] | None = None) -> tuple[Observation, ...]:
    """Everything that was seen, and the owner's words that nobody has read yet, as of when they came.

    What was seen before a stay in a clinic is left out: a vet has examined the animal since. `replies`: all of the
    plan's, where they are at hand.
    """
    since = plan.home_again_at
    every = [read_observation(row.facts) for row in plan.observations.all()]
    seen = [each for each in every if since is None or each.at >= since]
    words = [
        Observation(at=reply.received_at, text=reply.text)
        for reply in (plan.replies.all() if replies is None else replies)
        if reply.text and reply.staff_id is None and reply.state != Reply.State.READ
    ]
    return tuple(sorted([*seen, *words], key=lambda each: each.at))


def hours_of(plan: Plan) -> OwnerHours:
    """The owner's wall clock as this plan was made for it; by his own row where the plan's facts cannot be read."""
    kept = readable(lambda: case_of(plan).hours, otherwise=None)
    return kept if kept is not None else hours_of_owner(plan.patient.owner)


def hours_of_owner(owner: Owner) -> OwnerHours:
    """The owner's wall clock by his own row, without being away."""
    return OwnerHours(ZoneInfo(owner.time_zone), owner.wakes, owner.sleeps)


def case_to_ask(plan: Plan) -> Case:
    """What decides which questions suit; by the patient's own row where the plan's facts cannot be read."""
    kept = readable(lambda: case_of(plan), otherwise=None)
    return kept if kept is not None else _by_its_row(plan)


def _by_its_row(plan: Plan) -> Case:
    patient = plan.patient
    return Case(
        patient=PatientFacts(Species(patient.species), plan.dosing_weight_g or 1, sex=Sex(patient.sex or Sex.UNKNOWN)),
        procedure=Procedure(plan.procedure),
        surgery_ended_at=plan.surgery_ended_at,
        discharged_at=plan.discharged_at,
        hours=hours_of_owner(patient.owner),
    )


def protocol_of(plan: Plan) -> Protocol:
    """The version of the protocol that this plan keeps."""
    return parse(plan.protocol.text)


def recovery_of(plan: Plan) -> Recovery:
    """The whole recovery as triage reads it. Four queries: check-ins, observations, replies, protocol."""
    since, replies = plan.home_again_at, list(plan.replies.all())
    asked = [row for row in plan.check_ins.all() if row.state != CheckIn.State.CANCELLED]
    rows = [row for row in asked if since is None or row.at >= since]
    return Recovery.of(
        case=case_of(plan),
        rules=protocol_of(plan).rules,
        pinned=protocol_of(plan).pinned,
        vocabulary=vocabulary(),
        check_ins=[_planned(row) for row in rows if row.kind != CheckInKind.EXTRA],
        medication=compiled_of(plan).medication,
        observations=(seen := observations_of(plan, replies)),
        unasked=frozenset(row.at for row in rows if row.could_not_be_asked),
        releases=[Release(each["drug"], dt.datetime.fromisoformat(each["at"])) for each in plan.releases],
        why_silent=(reasons := _why_silent(plan, replies)),
        reviews=_reviews(plan) if _something_stays(seen, reasons) else (),
    )


def _something_stays(seen: Sequence[Observation], reasons: Sequence[WhySilent]) -> bool:
    """Whether anything was told that no better answer takes back, so that it matters who has reviewed it."""
    fit = any(each.answer(Question.SEIZURE) == YES for each in seen)
    return fit or any(each.why is Why.UNWELL for each in reasons)


def _reviews(plan: Plan) -> list[Reviewed]:
    done = plan.flags.filter(state=Flag.State.REVIEWED).values_list("concern", "reviewed_at")
    return [Reviewed(Concern(concern), at) for concern, at in done if at is not None]


def _why_silent(plan: Plan, replies: Sequence[Reply]) -> list[WhySilent]:
    """What was given as the reason of a silence since the patient is at home."""
    told = [why_silent_in(reply) for reply in replies]
    since = plan.home_again_at
    return [each for each in told if each is not None and (since is None or each.at >= since)]


def _planned(row: CheckIn) -> PlannedCheckIn:
    return PlannedCheckIn(
        at=row.at,
        answer_by=row.answer_by,
        kind=CheckInKind(row.kind),
        day=row.day,
        questions=tuple(row.questions),
        photo=row.photo,
    )
