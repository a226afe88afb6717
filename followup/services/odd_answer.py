"""Why an answer cannot be taken as it is, in words for the owner: none, an odd weight, an odd time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from followup.domain.odd_times import doubt_about_time
from followup.domain.question_words import Kind
from followup.domain.questions import NOT_SURE, QUESTIONS, SKIPPED, accepts
from followup.domain.told import told_by
from followup.domain.understood import grams
from followup.domain.weighing import Doubt, doubt_about
from followup.models import Plan
from followup.services.facts import case_of, hours_of, protocol_of, readable

ANY_WEIGHT = (Decimal(80), Decimal(90_000))
"""Grams from the smallest rat to the largest dog, while the protocol cannot be read. Source: clinical defaults, 14."""

NOT_A_TIME = gettext_noop("Choose an answer, or type the time like 14:30.")


def fault_in(plan: Plan, key: str, values: Sequence[str], *, now: dt.datetime, again: bool) -> str:
    """Why this is asked again; empty when it can be taken. `again`: the same was sent a second time."""
    asked = QUESTIONS.get(key)
    if asked is None or not accepts(key, values):
        return _("Choose an answer, then continue.")
    if SKIPPED in values or NOT_SURE in values:
        return ""
    doubt = DOUBTS[asked.kind](plan, values[0], now) if asked.kind in DOUBTS else None
    if doubt is None or (doubt.may_stand and again):
        return ""
    return " ".join(_(sentence) % doubt.words for sentence in doubt.sentences)


def _doubt_about_time(plan: Plan, typed: str, now: dt.datetime) -> Doubt | None:
    hours, since = hours_of(plan), plan.surgery_ended_at
    if told_by(typed, now, hours, since=since) is None:
        return Doubt((NOT_A_TIME,), {})
    return doubt_about_time(typed, now, hours, since=since)


def _doubt_about_weight(plan: Plan, typed: str, _now: dt.datetime) -> Doubt | None:
    least, most = readable(lambda: protocol_of(plan).course.fit_to_go.weight_g, otherwise=ANY_WEIGHT)
    newest = plan.patient.weights.order_by("at", "pk").last()
    stored = readable(lambda: case_of(plan).patient.weight_g, otherwise=None)
    last = float(newest.grams) if newest is not None else stored
    return doubt_about(typed, last_g=last or grams(typed) or 1, plausible=(float(least), float(most)))


DOUBTS = {Kind.WHEN: _doubt_about_time, Kind.WEIGHT: _doubt_about_weight}
