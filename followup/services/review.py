"""Reviewing a flag: a person has looked, and says what was found and done.

A review covers the facts up to its time: the same facts open nothing anew. Source: clinical defaults, 13.
It also says how serious it really was, beside what the rules had said: the only measure of them that counts patients.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from clinic.models import Role, Staff
from followup.casefile.refusals import moment_json
from followup.domain.terms import FollowUpError, Level
from followup.models import Flag, Message, Plan, Verdict
from followup.models.flag import NOT_WEIGHED
from followup.services.assess import assess
from followup.services.log import log
from followup.services.who_may import only

LONGEST_WORD = dt.timedelta(hours=24)
"""A vet's word may hold back what time alone would raise for so long; later the animal must have been seen or heard of.

A limit of ours (D): the longest time that any open flag may wait. Source: clinical defaults, 1, monitor.
"""


REALLY = {
    Level.EMERGENCY: "an emergency, for a vet at once",
    Level.URGENT: "urgent, for a vet the same day",
    Level.MONITOR: "to watch, on the next list",
    Level.ON_TRACK: "nothing to do",
}
"""How serious it was, in the words of whoever reviews. The levels are those of clinical defaults, 1."""


class AlreadyReviewed(FollowUpError):
    """Somebody else dealt with this flag first."""


@dataclass(frozen=True)
class Looked:
    """What a review says. `spoke`: the reviewer spoke to the owner; then `look_again_at` is when he looks again.

    `really`: the level that it was, now that somebody has looked. Never filled in for him; without it nothing closes.
    """

    found: str
    done: str
    owner_told: str = ""
    spoke: bool = False
    look_again_at: dt.datetime | None = None
    really: Level | None = None


@transaction.atomic
def review(flag: Flag, looked: Looked, *, staff: Staff, now: dt.datetime) -> Flag:
    """Close an open flag for good. Of two who try, the second is told who was first."""
    role = _may(flag, staff)
    _refuse(looked, role, now)
    plan = Plan.objects.select_for_update().get(pk=flag.plan_id)
    reviewed = (
        Flag.objects.open()
        .filter(pk=flag.pk)
        .update(
            state=Flag.State.REVIEWED,
            reviewed_by=staff,
            reviewed_at=now,
            updated_at=now,
            found=looked.found.strip(),
            done=looked.done.strip(),
            look_again_at=looked.look_again_at,
            next_alert_at=None,
            judged_level=looked.really,
            **_rests_on(flag),
        )
    )
    flag.refresh_from_db()
    if not reviewed:
        raise AlreadyReviewed(_who_was_first(flag))
    _tell(flag, looked, now=now)
    flag.messages.filter(state=Message.State.READY, audience=Message.Audience.STAFF).update(
        state=Message.State.CANCELLED
    )
    if role is Role.VET and looked.spoke:
        _keep_the_word(plan, looked, now=now)
    _log(flag, looked, staff=staff, now=now)
    assess(plan, now=now, cause=Verdict.Cause.STAFF)
    return flag


def _may(flag: Flag, staff: Staff) -> Role:
    """Nurses close what was never worse than monitor; the rest is a vet's. Source: clinical defaults, 13."""
    worst = Flag.objects.values_list("worst", flat=True).get(pk=flag.pk)
    roles = (Role.VET,) if worst >= Level.URGENT else (Role.VET, Role.NURSE)
    return only(staff, flag.practice_id, *roles, step=f"Reviewing what was {Level(worst).word.replace('_', ' ')}")


def _refuse(looked: Looked, role: Role, now: dt.datetime) -> None:
    _refuse_level(looked.really, role)
    if not looked.found.strip():
        raise FollowUpError("Write what you found.", field="found")
    if not looked.done.strip():
        raise FollowUpError("Write what was done, even if that is nothing.", field="done")
    if looked.spoke and looked.look_again_at is None:
        raise FollowUpError("Say when you look again: until then time alone raises nothing.", field="look_again_at")
    if looked.look_again_at is not None and not now < looked.look_again_at <= now + LONGEST_WORD:
        raise FollowUpError("Look again within the next 24 hours.", field="look_again_at")


def _refuse_level(really: Level | None, role: Role) -> None:
    if really is None:
        raise FollowUpError("Choose how serious it really was.", field="really")
    if role is not Role.VET and really >= Level.URGENT:
        raise FollowUpError("Only a vet closes what was really urgent: ask one to review this flag.", field="really")


def _rests_on(flag: Flag) -> dict[str, object]:
    """The verdict in force when the flag reached its worst, and the protocol and version that it was weighed by."""
    at = Flag.objects.values_list("raised_at", flat=True).get(pk=flag.pk)
    verdict = None
    if flag.concern != NOT_WEIGHED:
        verdict = Verdict.objects.filter(plan_id=flag.plan_id, at__lte=at).order_by("at", "pk").last()
    protocol = str(verdict.body.get("protocol", "")) if verdict is not None else ""
    return {"judged_verdict": verdict, "judged_protocol": protocol}


def _log(flag: Flag, looked: Looked, *, staff: Staff, now: dt.datetime) -> None:
    really = Level(flag.judged_level or Level.ON_TRACK)
    words = f"{flag.get_concern_display()}: {looked.found}. {looked.done}. Really: {REALLY[really]}"
    levels = {"worst": Level(flag.worst).word, "at_review": Level(flag.level).word, "really": really.word}
    rests = {"verdict": flag.judged_verdict_id, "protocol": flag.judged_protocol}
    log(flag.plan, "flag_reviewed", words, now=now, staff=staff, flag=flag.pk, **levels, **rests)


def _tell(flag: Flag, looked: Looked, *, now: dt.datetime) -> None:
    if looked.owner_told.strip():
        Flag.objects.filter(pk=flag.pk).update(owner_told=looked.owner_told.strip(), owner_told_at=now)


def _keep_the_word(plan: Plan, looked: Looked, *, now: dt.datetime) -> None:
    """A vet spoke to the owner: until the named time, time alone raises nothing."""
    if looked.look_again_at is None:
        return
    said = {"at": moment_json(now), "look_again_at": moment_json(looked.look_again_at)}
    case = {**plan.case, "vet_said": [*plan.case.get("vet_said", ()), said]}
    Plan.objects.filter(pk=plan.pk).update(case=case)


def _who_was_first(flag: Flag) -> str:
    if flag.reviewed_by is None or flag.reviewed_at is None:
        return f"This flag is no longer open: {flag.get_state_display()}."
    at = flag.reviewed_at.astimezone(flag.practice.zone)
    return f"{flag.reviewed_by} reviewed this flag at {at:%H:%M}: {flag.found}. {flag.done}. Nothing was changed."
