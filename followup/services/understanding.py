"""A stored reply → observation, check-ins answered, dose reported, verdict. If anything fails, a person reads it.

The reply itself was stored before, in a transaction of its own: nothing here can lose it.
"""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from followup.casefile import observation_json, read_observation
from followup.domain.observation import Observation as Seen
from followup.domain.said import said_in
from followup.domain.silence import A_CALL_SPARES, EARLY_ANSWER
from followup.domain.terms import Level, Observer
from followup.domain.understood import Answered, Facts, facts_of, says_anything
from followup.domain.verdict import Verdict
from followup.models import CheckIn, Message, Observation, Plan, Reply, Task
from followup.models import Verdict as VerdictRow
from followup.services.assess import assess
from followup.services.call_people import spoken_to
from followup.services.dose_report import dose_facts
from followup.services.facts import hours_of
from followup.services.faults import write_down
from followup.services.log import log
from followup.services.not_weighed import call_about_an_answer, danger_in
from followup.services.outbox import drop_plan_messages
from followup.services.raw_answers import answered_in, mark_understood, why_silent_in
from followup.services.silence_reason import note_reason
from followup.vocabulary.load import vocabulary

logger = logging.getLogger(__name__)


@dataclass(frozen=True)
class Understood:
    """What came of a reply. No verdict: a person must read or look, or there was nothing to weigh."""

    reply: Reply
    verdict: Verdict | None

    @property
    def level(self) -> Level:
        """What the owner is told. What we could not weigh is never told to be well."""
        if self.verdict is not None:
            return self.verdict.level
        plan = self.reply.plan
        if self.reply.state != Reply.State.FOR_A_PERSON and (plan is None or plan.not_weighed_at is None):
            return Level.ON_TRACK
        return max(Level.URGENT, Level(plan.level)) if plan is not None else Level.URGENT


def understand(reply: Reply, *, now: dt.datetime) -> Understood:
    """Take in what of the reply has not been taken in yet. Never raises: the owner still gets his number."""
    try:
        with transaction.atomic():  # by itself: a protocol that cannot be read must not undo what the words did
            _read_words(Reply.objects.select_for_update().get(pk=reply.pk), now=now)
        with transaction.atomic():
            verdict = _take_in(reply, now=now)
    except Exception as fault:  # noqa: BLE001 - whatever it is, the reply is kept and a person reads it
        write_down(logger, f"reply {reply.pk} could not be understood", fault)
        _keep_for_a_person(reply, now=now)
        verdict = None
    reply.refresh_from_db()
    return Understood(reply, verdict)


def make_task(reply: Reply, kind: Task.Kind, text: str, *, now: dt.datetime) -> None:
    """Ask a person to read or ring because of this reply; once for each reply and kind."""
    Task.objects.get_or_create(
        practice_id=reply.practice_id,
        key=f"reply:{reply.pk}:{kind}",
        defaults={"plan_id": reply.plan_id, "kind": kind, "text": text, "due_at": now, "made_at": now},
    )


def _take_in(reply: Reply, *, now: dt.datetime) -> Verdict | None:
    """None also when the rules could not be weighed: what was seen is kept, and `assess` has called a person."""
    locked = Reply.objects.select_for_update().get(pk=reply.pk)
    plan = locked.plan
    if plan is None or plan.state != Plan.State.RUNNING:
        _ended(locked, now=now)
        return None
    plan.refresh_from_db()
    seen = _observe(locked, plan, now=now)
    mark_understood(locked)
    if locked.staff is not None and seen is not None:
        spoken_to(plan, locked.staff, now=now)
    if seen is not None and seen.answers_a_check_in():
        _answer_check_ins(plan, seen, by_staff=locked.staff_id is not None)
    return _weigh(locked, plan, seen, now=now)


def _weigh(reply: Reply, plan: Plan, seen: Seen | None, *, now: dt.datetime) -> Verdict | None:
    """What follows, if it says anything at all. The silence has ended before its reason is written on its flag."""
    told = why_silent_in(reply)
    if seen is None and told is None and not reply.text.strip():
        return None
    verdict = assess(plan, now=now, cause=VerdictRow.Cause.STAFF if reply.staff_id else VerdictRow.Cause.REPLY)
    note_reason(reply, plan, now=now)
    return verdict


def _observe(reply: Reply, plan: Plan, *, now: dt.datetime) -> Seen | None:
    answered = answered_in(reply)
    facts = _facts(reply, plan, answered, at=max((each.at for each in answered), default=now))
    facts |= dose_facts(reply, plan, now=now)
    if not says_anything(facts):
        return None
    seen = read_observation(facts)
    Observation.objects.create(
        practice_id=plan.practice_id,
        plan=plan,
        reply=reply,
        by=seen.by,
        seen_at=seen.at,
        arrived_at=now,
        facts=observation_json(seen),
    )
    log(plan, "observation", "", now=now, staff=reply.staff, reply=reply.pk)
    return seen


def _facts(reply: Reply, plan: Plan, answered: Sequence[Answered], *, at: dt.datetime) -> Facts:
    return facts_of(
        answered,
        at=at,
        by=Observer.STAFF if reply.staff_id is not None else Observer.OWNER,
        hours=hours_of(plan),
        since=plan.surgery_ended_at,
    )


def _answer_check_ins(plan: Plan, seen: Seen, *, by_staff: bool) -> None:
    """One answer about eating answers every earlier open check-in; staff's call also drops the next six hours'."""
    waiting = plan.check_ins.filter(state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED])
    if by_staff:
        soon = waiting.filter(at__gt=seen.at + EARLY_ANSWER, at__lte=seen.at + A_CALL_SPARES)
        soon.update(state=CheckIn.State.CANCELLED)
    waiting.filter(at__lte=seen.at + EARLY_ANSWER).update(
        state=CheckIn.State.ANSWERED, answered_at=seen.at, remind_at=None
    )
    asking = plan.messages.filter(
        state=Message.State.READY, purpose__in=[Message.Purpose.CHECK_IN, Message.Purpose.REMINDER], doses=None
    )
    still = CheckIn.objects.filter(state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED])
    asking.exclude(check_ins__in=still).update(state=Message.State.SUPERSEDED)


def _read_words(reply: Reply, *, now: dt.datetime) -> None:
    """Free words always reach a person; words that name a death pause everything until they were read."""
    if not reply.text.strip():
        return
    name = str(reply.plan.patient) if reply.plan is not None else ""
    text = f"Read what was written about {name}." if name else f"Read what {_writer(reply)} wrote."
    if reply.plan is not None and said_in(reply.text, vocabulary()).died:
        text = f"The words say that {name} has died. Everything about {name} is paused until you have read them."
        _pause(reply.plan, now=now)
    if reply.staff_id is None:
        make_task(reply, Task.Kind.READ_WORDS, text, now=now)


def _writer(reply: Reply) -> str:
    return reply.recipient.person.name if reply.recipient is not None else "an owner"


def _pause(plan: Plan, *, now: dt.datetime) -> None:
    paused = Plan.objects.filter(pk=plan.pk, paused="").update(paused=Plan.Pause.WORDS_SAY_DIED, look_again_at=None)
    if paused:
        drop_plan_messages(plan, now=now)
        log(plan, "paused", "the words say that the patient has died", now=now)


def _ended(reply: Reply, *, now: dt.datetime) -> None:
    """After the end of a follow-up, whatever is written is a note for a person."""
    make_task(reply, Task.Kind.READ_WORDS, "An owner wrote after the end of the follow-up.", now=now)
    Reply.objects.filter(pk=reply.pk).update(state=Reply.State.FOR_A_PERSON)


def _keep_for_a_person(reply: Reply, *, now: dt.datetime) -> None:
    Reply.objects.filter(pk=reply.pk).update(state=Reply.State.FOR_A_PERSON)
    danger = danger_in(reply)
    alarming = f"Its words name a danger: “{danger}”. " if danger else ""
    text = f"An answer came that could not be weighed. {alarming}Read it, and ring the owner."
    make_task(reply, Task.Kind.PHONE, text, now=now)
    if reply.plan is not None:
        call_about_an_answer(reply.plan, reply, now=now)
