"""Triage: everything known about one recovery at one moment, weighed into a verdict with its reasons.

The worst finding is the level; nothing good averages it away. What comes by time alone is kept apart, because a vet's
word holds it, and because its next rise has a moment.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

from followup.domain.answer_rules import answer_findings, weight_change_pct
from followup.domain.asking import next_ask
from followup.domain.clock_rules import clock_findings, clock_moments
from followup.domain.clocks import clock_of
from followup.domain.hours import DAY
from followup.domain.medicine_rules import (
    dose_moments,
    held_drugs,
    medicine_findings,
    missed_running,
)
from followup.domain.night import food_judged_at, night_findings, night_moments
from followup.domain.pictures import picture_findings, picture_moments
from followup.domain.recovery import Recovery
from followup.domain.silence import (
    heard_state,
    silence_findings,
    silence_moments,
    unanswered_running,
    why_silent_findings,
)
from followup.domain.terms import Concern, Heard, Level, Sign
from followup.domain.verdict import Finding, Signals, Verdict, worst
from followup.domain.words import SAY_DIED, word_findings, words_say_died
from followup.domain.worse import worse_since

MIDNIGHT = dt.time(0)
LAST_DAY = 14
"""After this day of the recovery nothing rises by itself."""

_FOOD = frozenset({Sign.FOOD})
_NOT_FOOD = frozenset({Sign.MEAL, Sign.FAECES, Sign.URINE})


def triage(recovery: Recovery, now: dt.datetime) -> Verdict:
    """Weigh the recovery as it is known at `now`: the same facts give the same verdict, and it says why."""
    known = recovery.until(now)
    if any(seen.died for seen in known.observations):
        return _ended(known, now)
    findings = findings_at(known, now)
    level = worst(findings)
    look_again_at, next_rise_at = _rises(known, now, findings)
    verdict = Verdict(
        protocol=recovery.pinned,
        at=now,
        level=level,
        heard=heard_state(known, now),
        findings=findings,
        signals=signals_of(known, now),
        look_again_at=look_again_at,
        next_rise_at=next_rise_at,
        ask=None,
        held_drugs=held_drugs(known, now),
        paused=SAY_DIED if words_say_died(known) else None,
    )
    return replace(verdict, ask=next_ask(known, verdict))


def _ended(known: Recovery, now: dt.datetime) -> Verdict:
    """The animal has died: that is no level, and nothing is looked for, asked or held any more."""
    return Verdict(
        protocol=known.pinned,
        at=now,
        level=Level.ON_TRACK,
        heard=heard_state(known, now),
        findings=(),
        signals=signals_of(known, now),
        look_again_at=None,
        next_rise_at=None,
        ask=None,
        paused="died",
    )


def findings_at(known: Recovery, now: dt.datetime) -> tuple[Finding, ...]:
    """Every finding at `now`, worst first, from what is known."""
    found = [*_from_answers(known), *_held_by_the_vet(known, now)]
    if heard_state(known, now).state is Heard.NOT_HEARD_FROM and not any(
        each.concern is Concern.SILENCE for each in found
    ):
        found.extend(_unheard(known, now))
    return tuple(sorted(found, key=lambda each: (-each.level, each.concern, each.rule)))


def signals_of(known: Recovery, now: dt.datetime) -> Signals:
    """Every derived quantity at `now`."""
    looked = known.pain_signs()
    heard = known.observations[-1].at if known.observations else known.case.discharged_at
    return Signals(
        since_surgery=known.case.since_surgery(now),
        since_last_heard=max(now - heard, dt.timedelta(0)),
        without={sign: clock_of(known, sign).reading(now) for sign in Sign},
        weight_change_pct=weight_change_pct(known),
        pain_sign_count=None if looked is None else len(looked[0]),
        doses_missed_running=max((missed_running(known, each.drug) for each in known.medication), default=0),
        check_ins_unanswered_running=unanswered_running(known, now),
    )


def _from_answers(known: Recovery) -> tuple[Finding, ...]:
    """What does not change while time passes: worked out once for all the moments that are looked at."""
    kept = known.worked_out.get(_from_answers)
    if isinstance(kept, tuple):
        return kept
    found = (*answer_findings(known), *word_findings(known), *why_silent_findings(known))
    known.worked_out[_from_answers] = found
    return found


def _from_time(known: Recovery, now: dt.datetime) -> list[Finding]:
    return [
        *clock_findings(known, now, _NOT_FOOD),
        *clock_findings(known, food_judged_at(known, now), _FOOD),
        *picture_findings(known, now),
        *night_findings(known, now),
        *medicine_findings(known, now),
        *silence_findings(known, now, _last_answer_good),
    ]


def _held_by_the_vet(known: Recovery, now: dt.datetime) -> list[Finding]:
    """What time gives; while a vet's word holds, no more than it gave when the vet spoke, save for a worse answer."""
    found = _from_time(known, now)
    said = known.vet_said_at(now)
    if said is None or worse_since(known, said.at):
        return found
    then = _by_concern(_from_time(known.until(said.at), said.at))
    return [held for each in found if (held := _no_worse_than(each, then)) is not None]


def _no_worse_than(each: Finding, then: dict[Concern, Level]) -> Finding | None:
    cap = then.get(each.concern, Level.ON_TRACK)
    if not each.time_alone or each.level <= cap:
        return each
    return None if cap is Level.ON_TRACK else replace(each, level=cap)


def _last_answer_good(known: Recovery, at: dt.datetime) -> bool:
    """Whether the newest answer before `at` raised nothing above monitor. Never heard from: no."""
    answers = [seen for seen in known.observations if seen.answers_a_check_in() and seen.at < at]
    if not answers:
        return False
    newest = answers[-1].at
    kept = known.worked_out.get((_last_answer_good, newest))
    if isinstance(kept, bool):
        return kept
    then = known.until(newest)
    told = [
        *_from_answers(then),
        *clock_findings(then, newest),
        *picture_findings(then, newest),
        *night_findings(then, newest),
        *medicine_findings(then, newest),
    ]
    good = all(each.level <= Level.MONITOR for each in told)
    known.worked_out[_last_answer_good, newest] = good
    return good


def _unheard(known: Recovery, now: dt.datetime) -> Iterator[Finding]:
    """A patient not heard from is never on track, even while a vet's word holds the silence."""
    for each in silence_findings(known, now, _last_answer_good):
        yield replace(each, level=Level.MONITOR)


def _by_concern(findings: Sequence[Finding]) -> dict[Concern, Level]:
    worst: dict[Concern, Level] = {}
    for each in findings:
        worst[each.concern] = max(each.level, worst.get(each.concern, Level.ON_TRACK))
    return worst


def _rises(
    known: Recovery, now: dt.datetime, findings: Sequence[Finding]
) -> tuple[dt.datetime | None, dt.datetime | None]:
    """The first moments at which the level, and any concern's level, would rise if nothing more came."""
    level = worst(findings)
    concerns = _by_concern(findings)
    look_again_at: dt.datetime | None = None
    next_rise_at: dt.datetime | None = None
    for moment in moments_ahead(known, now):
        then = _by_concern(findings_at(known, moment))
        rises = any(each > concerns.get(concern, Level.ON_TRACK) for concern, each in then.items())
        if rises and next_rise_at is None:
            next_rise_at = moment
        if max(then.values(), default=Level.ON_TRACK) > level:
            look_again_at = moment
            break
    return look_again_at, next_rise_at


def moments_ahead(known: Recovery, now: dt.datetime) -> list[dt.datetime]:
    """Every moment after `now` at which something may change by itself, in order."""
    moments = {
        *clock_moments(known),
        *picture_moments(known),
        *silence_moments(known, now),
        *night_moments(known),
        *dose_moments(known),
        *(said.look_again_at for said in known.case.vet_said),
    }
    last = known.case.hours.instant(known.case.day_0 + (LAST_DAY + 1) * DAY, MIDNIGHT)
    return sorted(moment for moment in moments if now < moment <= last)
