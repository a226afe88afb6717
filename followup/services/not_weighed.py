"""The rules could not be weighed: a person must look, whatever the reason. What was said is kept all the same.

One flag of its own kind, at least urgent; an emergency when an answer is red without any rule. It is opened once, not
at every tick, and says so when the rules work again. Time alone writes nothing to the owner then: one fault of ours
may hold for every patient at once, and nothing was heard that would worry anybody. An answer does.
"""

from __future__ import annotations

import datetime as dt
import logging
from dataclasses import dataclass

from followup.domain.red_answers import red_in
from followup.domain.said import said_in
from followup.domain.terms import Level, Species
from followup.models import Flag, Plan, Reply, Verdict
from followup.models.flag import NOT_WEIGHED
from followup.services.advice import advice_for
from followup.services.call_people import call_people
from followup.services.faults import told_to_staff, write_down
from followup.services.log import log
from followup.services.one_by_one import LATER
from followup.services.raw_answers import every_answer
from followup.services.second_carer import expect_a_word
from followup.services.tell import tell_owner
from followup.vocabulary.load import BadVocabulary, vocabulary

logger = logging.getLogger(__name__)

LONGEST_REVIEW = dt.timedelta(hours=24)
"""A review of such a flag covers this long: then nobody has judged the patient for a day, and it is opened anew.

The longest time that any open flag may wait. Source: clinical defaults, 1, monitor (D).
"""
BEGUN_BEFORE = dt.timedelta(days=1)
"""A check-in that was begun so long before may still have had an answer since."""


def call_a_person(plan: Plan, fault: Exception, *, cause: Verdict.Cause, now: dt.datetime) -> None:
    """Say that `plan` could not be weighed, keep it at urgent at least, and have it tried again soon."""
    write_down(logger, f"plan {plan.pk} could not be weighed", fault)
    if plan.state != Plan.State.RUNNING or plan.paused not in {"", Plan.Pause.WORDS_SAY_DIED}:
        Plan.objects.filter(pk=plan.pk).update(look_again_at=None)
        return
    begins = plan.not_weighed_at is None
    covered = _covered_to(plan)
    told = _told_since(plan, max(plan.assessed_at or plan.discharged_at, covered or plan.discharged_at))
    red = told.red
    level = Level.EMERGENCY if red else Level.URGENT
    Plan.objects.filter(pk=plan.pk).update(
        level=max(level, *plan.verdicts.order_by("-at", "-pk").values_list("level", flat=True)[:1]),
        not_weighed_at=plan.not_weighed_at or now,
        look_again_at=None if plan.paused else now + LATER,
    )
    because = f"{plan.patient.name}: the rules could not be weighed: {told_to_staff(fault)}"
    because += f". Told since: {', '.join((*red, *told.words))}" if red or told.words else ""
    if begins or covered is None or _is_news(plan, covered, now):
        _flag(plan, level, because, cause=cause, now=now)


def call_about_an_answer(plan: Plan, reply: Reply, *, now: dt.datetime) -> None:
    """A reply that cannot be taken in, but says something red, is an emergency before anybody has read it."""
    red = red_in(every_answer(reply), Species(plan.patient.species))
    if not red or plan.state != Plan.State.RUNNING:
        return
    Plan.objects.filter(pk=plan.pk).update(level=Level.EMERGENCY)
    because = f"{plan.patient.name}: an answer could not be weighed, and it says: {', '.join(red)}"
    _flag(plan, Level.EMERGENCY, because, cause=Verdict.Cause.REPLY, now=now)


def danger_in(reply: Reply) -> str:
    """The first danger that the words of a reply name, so that it is rung about first; empty: none."""
    try:
        dangers = said_in(reply.text, vocabulary()).dangers
    except BadVocabulary:  # a person reads the words all the same
        return ""
    return dangers[0].words if dangers else ""


def weighed_again(plan: Plan, *, now: dt.datetime) -> None:
    """The rules work again: the flag says so, and waits for a person like all that was ever urgent."""
    if plan.not_weighed_at is None:
        return
    zone = plan.practice.zone
    since = f"from {plan.not_weighed_at.astimezone(zone):%a %H:%M} to {now.astimezone(zone):%a %H:%M}"
    words = f"{plan.patient.name}: the rules could not be weighed {since}; they work again. Read what they say now"
    Plan.objects.filter(pk=plan.pk).update(not_weighed_at=None)
    plan.flags.open().filter(concern=NOT_WEIGHED).update(level=Level.ON_TRACK, because=words, updated_at=now)
    log(plan, "weighed_again", f"the rules work again, after they could not be weighed {since}", now=now)


def _covered_to(plan: Plan) -> dt.datetime | None:
    """Up to when a person has dealt with what could not be weighed."""
    last = plan.flags.filter(concern=NOT_WEIGHED, state=Flag.State.REVIEWED).order_by("reviewed_at", "pk").last()
    return last.reviewed_at if last is not None else None


def _is_news(plan: Plan, covered: dt.datetime, now: dt.datetime) -> bool:
    return now >= covered + LONGEST_REVIEW or plan.replies.filter(received_at__gt=covered).exists()


@dataclass(frozen=True)
class _Told:
    """Answers that are red without any rule, and the first danger that the unread words of each reply name."""

    red: tuple[str, ...]
    words: tuple[str, ...]


def _told_since(plan: Plan, since: dt.datetime) -> _Told:
    """What was told since the rules were last weighed, or a person last looked."""
    replies = list(plan.replies.filter(received_at__gte=since - BEGUN_BEFORE).order_by("received_at", "pk"))
    answered = [each for reply in replies for each in every_answer(reply) if each.at >= since]
    unread = [each for each in replies if each.received_at >= since and each.state != Reply.State.READ]
    dangers = dict.fromkeys(f"“{danger}”" for danger in map(danger_in, unread) if danger)
    return _Told(red_in(answered, Species(plan.patient.species)), tuple(dangers))


def _flag(plan: Plan, level: Level, because: str, *, cause: Verdict.Cause, now: dt.datetime) -> None:
    """Open the flag, or bring the open one in step; say so once, and again only when it becomes worse."""
    flag, opened = Flag.objects.get_or_create(
        plan=plan,
        concern=NOT_WEIGHED,
        state=Flag.State.OPEN,
        defaults={
            "practice_id": plan.practice_id,
            "level": level,
            "worst": level,
            "because": because,
            "opened_at": now,
            "raised_at": now,
            "updated_at": now,
        },
    )
    if not opened and (flag.level, flag.because) == (level, because):
        return
    risen = opened or level > flag.level
    alerts = opened or level > flag.worst
    flag.count += not opened
    flag.level, flag.worst, flag.because, flag.updated_at = level, max(flag.worst, level), because, now
    flag.raised_at = now if risen else flag.raised_at
    flag.save()
    if alerts:
        call_people(flag, now=now)
    if risen:
        log(plan, "needs_a_person", because, now=now, flag=flag.pk, level=level.word)
        _tell(plan, flag, cause=cause, now=now)


def _tell(plan: Plan, flag: Flag, *, cause: Verdict.Cause, now: dt.datetime) -> None:
    """What the owner's page says at this level; an emergency goes to him as a message too."""
    emergency = flag.level == Level.EMERGENCY
    if plan.paused or (cause != Verdict.Cause.REPLY and not emergency):
        return
    advice = advice_for(plan, Level(flag.level), now=now)
    Flag.objects.filter(pk=flag.pk).update(owner_told=advice.heading, owner_told_at=now)
    if cause != Verdict.Cause.REPLY:
        expect_a_word([flag], now=now)
    if emergency:
        tell_owner(plan, advice, flag=flag, key=f"advice:{flag.pk}:emergency:{flag.count}", now=now)
