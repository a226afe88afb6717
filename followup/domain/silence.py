"""Silence: which check-ins stand unanswered, and when that is itself a sign. Source: clinical defaults, 5 (D).

An answer about eating, whoever gave it, ends the silence; doses, weights, photos and words alone do not.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence

from followup.domain.answers import Question
from followup.domain.compiled import PlannedCheckIn
from followup.domain.recovery import Recovery
from followup.domain.terms import (
    Certainty,
    CheckInKind,
    Concern,
    Heard,
    Level,
    Observer,
)
from followup.domain.verdict import Finding, HeardState
from followup.domain.why_silent import Why

EARLY_ANSWER = dt.timedelta(hours=1)
"""An answer this long before a check-in answers it."""

A_CALL_SPARES = dt.timedelta(hours=6)
"""Staff's record of a call drops a check-in due within this time."""

SILENT, VET_DECIDES, NEVER_HEARD = "silence", "silence_a_vet_decides", "silence_never_heard_from"
"""The rule that an unanswered check-in gives; the last two on day 1 of a small herbivore, from 14:00 and 18:00 on."""

NOT_TRIAGED = frozenset({CheckInKind.OUTCOME, CheckInKind.EXTRA})
WHY_SOURCE = "clinical defaults, 4: the owner's own worry may raise a level; evidence, C-10 (derived)"

LastAnswerGood = Callable[[Recovery, dt.datetime], bool]
"""Whether the answers made by then raised nothing above monitor; given by triage, which alone can say."""


def unanswered(recovery: Recovery, now: dt.datetime) -> tuple[PlannedCheckIn, ...]:
    """The check-ins whose time has come and that nothing has answered, oldest first."""
    spoken = _spoken(recovery)
    return tuple(
        each
        for each in recovery.check_ins
        if each.at <= now and each.kind not in NOT_TRIAGED and not _answered(each, spoken)
    )


def heard_state(recovery: Recovery, now: dt.datetime) -> HeardState:
    """Heard, waiting or not heard from, and since when."""
    silent = unanswered(recovery, now)
    if not silent:
        heard = [seen.at for seen in recovery.observations]
        return HeardState(Heard.HEARD, heard[-1] if heard else recovery.case.discharged_at)
    late = [each.answer_by for each in silent if each.answer_by <= now]
    if late:
        return HeardState(Heard.NOT_HEARD_FROM, min(late))
    return HeardState(Heard.WAITING, silent[0].at)


def unanswered_running(recovery: Recovery, now: dt.datetime) -> int:
    """How many check-ins in a row, up to the newest, have passed their time without an answer."""
    return sum(each.answer_by <= now for each in unanswered(recovery, now))


def silence_findings(recovery: Recovery, now: dt.datetime, last_answer_good: LastAnswerGood) -> Iterator[Finding]:
    """The worst that the silence gives now, if anything."""
    silent = unanswered(recovery, now)
    running = unanswered_running(recovery, now)
    found = [
        (level, each)
        for each in silent
        if (level := _level(recovery, each, now, running, last_answer_good)) > Level.ON_TRACK
    ]
    if found:
        level = max(level for level, _each in found)
        worst = [each for each_level, each in found if each_level is level]
        rule = max((_rule(recovery, each, now) for each in worst), key=_STEPS.index)
        yield Finding(
            rule=rule,
            concern=Concern.SILENCE,
            level=level,
            certainty=Certainty.CERTAIN,
            because=_because(recovery, silent, rule, running),
            source=recovery.rules.steady.silence.source.text,
            time_alone=True,
            since=worst[-1].at,
        )


def next_step(recovery: Recovery, now: dt.datetime) -> dt.datetime | None:
    """When silence next says something new, though the level may stay: another check-in, another person to decide.

    None: nothing lies ahead if what is known stays as it is.
    """
    spoken = _spoken(recovery)
    waiting = [each for each in recovery.check_ins if each.kind not in NOT_TRIAGED and not _answered(each, spoken)]
    steps = [at for each in waiting for at, _rule_then in _steps(recovery, each)]
    moments = [at for each in waiting for at in _moments_of(recovery, each)]
    return min((at for at in (*moments, *steps) if at > now), default=None)


def never_heard_from(recovery: Recovery, now: dt.datetime) -> bool:
    """Whether the patient is first on every list: day 1 is over by 18:00, and nobody has an answer or a vet's word."""
    waits = any(_rule(recovery, each, now) == NEVER_HEARD for each in unanswered(recovery, now))
    return waits and recovery.vet_said_at(now) is None


def why_silent_findings(recovery: Recovery) -> Iterator[Finding]:
    """ "He was not well" as the reason of a silence is a worry that nobody could act on: at least a person looks.

    It stands, as a worry does, until the owner is asked anew how worried he is, or a person has looked.
    """
    unwell = [each for each in recovery.why_silent if each.why is Why.UNWELL]
    if not unwell:
        return
    last = max(unwell, key=lambda each: each.at)
    asked = [seen.at for seen in recovery.answers_to(Question.WORRIED)]
    looked = [each.at for each in recovery.reviews if each.concern is Concern.WORRY]
    if any(at > last.at for at in (*asked, *looked)):
        return
    yield Finding(
        rule="silent_because_unwell",
        concern=Concern.WORRY,
        level=Level.MONITOR,
        certainty=Certainty.CERTAIN,
        because=f"while we heard nothing, {last.told()}",
        source=WHY_SOURCE,
        since=last.at,
    )


def silence_moments(recovery: Recovery, now: dt.datetime) -> Iterator[dt.datetime]:
    """Every moment at which silence may come to say more, if nothing is heard."""
    for each in recovery.check_ins:
        if each.kind not in NOT_TRIAGED and each.answer_by > now - recovery.rules.steady.silence.early:
            yield from _moments_of(recovery, each)


def _spoken(recovery: Recovery) -> list[tuple[dt.datetime, Observer]]:
    return [(seen.at, seen.by) for seen in recovery.observations if seen.answers_a_check_in()]


def _answered(each: PlannedCheckIn, spoken: list[tuple[dt.datetime, Observer]]) -> bool:
    return any(at >= each.at - (A_CALL_SPARES if by is Observer.STAFF else EARLY_ANSWER) for at, by in spoken)


def special_moment(recovery: Recovery, each: PlannedCheckIn) -> dt.datetime | None:
    """When the first evening's or first morning's silence of a small herbivore becomes urgent."""
    first_night = recovery.rules.steady.silence.first_night
    if first_night is None:
        return None
    hours = recovery.case.hours
    if each.day == 0 and each.kind in {CheckInKind.EVENING, CheckInKind.BEDTIME}:
        return hours.next_sleep(each.at)
    if _is_first_morning(recovery, each):
        local_day = hours.local(each.at).date()
        return max(hours.instant(local_day, first_night.call_at), each.at)
    return None


def _level(recovery: Recovery, each: PlannedCheckIn, now: dt.datetime, running: int, good: LastAnswerGood) -> Level:
    rule, special = recovery.rules.steady.silence, special_moment(recovery, each)
    if special is not None and now >= special:
        return rule.first_night.level if rule.first_night is not None else Level.URGENT
    if now < each.answer_by:
        return Level.ON_TRACK
    if special is not None:
        return rule.last_answer_good
    level = rule.later
    if recovery.case.since_surgery(each.at) < rule.early:
        level = rule.last_answer_good if good(recovery, each.at) else rule.last_answer_not_good
    return max(level, rule.several) if running >= rule.running else level


def _moments_of(recovery: Recovery, each: PlannedCheckIn) -> Iterator[dt.datetime]:
    """Every moment at which this check-in's silence may come to weigh more."""
    yield each.answer_by
    special = special_moment(recovery, each)
    if special is not None:
        yield special


def _is_first_morning(recovery: Recovery, each: PlannedCheckIn) -> bool:
    first_night = recovery.rules.steady.silence.first_night
    return first_night is not None and each.day == 1 and each.kind is CheckInKind.WAKING


def _steps(recovery: Recovery, each: PlannedCheckIn) -> list[tuple[dt.datetime, str]]:
    """From when on the first morning's silence is a vet's to decide, and then the first thing on every list."""
    first_night = recovery.rules.steady.silence.first_night
    if first_night is None or not _is_first_morning(recovery, each):
        return []
    hours = recovery.case.hours
    day = hours.local(each.at).date()
    return [
        (hours.instant(day, first_night.vet_at), VET_DECIDES),
        (hours.instant(day, first_night.first_at), NEVER_HEARD),
    ]


_STEPS = (SILENT, VET_DECIDES, NEVER_HEARD)


def _rule(recovery: Recovery, each: PlannedCheckIn, now: dt.datetime) -> str:
    return max((rule for at, rule in _steps(recovery, each) if at <= now), key=_STEPS.index, default=SILENT)


def _because(recovery: Recovery, silent: Sequence[PlannedCheckIn], rule: str, running: int) -> str:
    """Since when nothing was heard, how often we asked, and what could not be asked."""
    first = silent[0]
    asked = f"{recovery.case.hours.local(first.at):%a %H:%M}"
    unasked = sum(each.at in recovery.unasked for each in silent)
    how = "could not be asked" if unasked == len(silent) else "no answer"
    words = f"{how} since {asked}"
    if first.day == 0 and recovery.rules.steady.silence.first_night is not None:
        words = f"first evening, no word: {words}"
    if rule == NEVER_HEARD:
        words = f"never heard from: {words}"
    several = f", {running} check-ins running" if running > 1 else ""
    partly = f", {unasked} could not be asked" if 0 < unasked < len(silent) else ""
    return f"{words}{several}{partly}{'; a vet decides' if rule == VET_DECIDES else ''}"
