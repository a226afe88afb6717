"""Why nothing was heard, as an owner gives it: kept beside the observation facts, and shown where the silence is."""

from __future__ import annotations

import datetime as dt

from followup.domain.terms import Concern
from followup.domain.why_silent import WhySilent
from followup.models import Flag, Plan, Reply
from followup.services.log import log
from followup.services.raw_answers import why_silent_in

ASKED_WHY = ". Asked why: "


def note_reason(reply: Reply, plan: Plan, *, now: dt.datetime) -> WhySilent | None:
    """Write the reason of this reply down in the log and on the flag of the silence; None: it gives none. Once."""
    told = why_silent_in(reply)
    if told is None or plan.events.filter(what="silence_reason", data__reply=reply.pk, data__at=_stamp(told)).exists():
        return told
    log(plan, "silence_reason", told.told(), now=now, staff=reply.staff, reply=reply.pk, at=_stamp(told), why=told.why)
    flag = plan.flags.filter(concern=Concern.SILENCE).order_by("opened_at", "pk").last()
    if flag is not None and flag.state in {Flag.State.OPEN, Flag.State.SETTLED}:
        flag.because = f"{flag.because.split(ASKED_WHY)[0]}{ASKED_WHY}{told.told()}"
        flag.save(update_fields=["because"])
    return told


def _stamp(told: WhySilent) -> str:
    return told.at.isoformat()
