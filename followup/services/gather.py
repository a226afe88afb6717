"""Findings into flags: one flag for each concern, updated, counted and raised, never repeated.

Source: clinical defaults, 13. What was ever urgent or emergency only a person closes; a monitor flag settles itself.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from followup.domain.acting import is_news
from followup.domain.terms import Concern, Level
from followup.domain.verdict import Finding
from followup.models import Flag, Plan
from followup.services.call_people import call_people
from followup.services.log import log


def gather(
    plan: Plan,
    acted_on: Mapping[Concern, Sequence[Finding]],
    every: Mapping[Concern, Sequence[Finding]],
    *,
    now: dt.datetime,
) -> list[Flag]:
    """Bring the plan's flags in step with the verdict; returns those that were opened or raised.

    `acted_on` leaves out what waits for the morning; a flag that is already urgent follows `every` finding.
    """
    open_flags = {Concern(flag.concern): flag for flag in plan.flags.open().by_rules()}
    risen: list[Flag] = []
    for concern in Concern:
        flag = open_flags.get(concern)
        if flag is None:
            opened = _open(plan, concern, acted_on.get(concern, ()), now=now)
            risen.extend([opened] if opened is not None else [])
        else:
            urgent = flag.worst >= Level.URGENT
            findings = (every if urgent else acted_on).get(concern, ())
            risen.extend([flag] if _follow(flag, findings, now=now) else [])
    return risen


def _open(plan: Plan, concern: Concern, findings: Sequence[Finding], *, now: dt.datetime) -> Flag | None:
    if not findings or not _is_news(plan, concern, findings):
        return None
    level = findings[0].level
    flag = Flag.objects.create(
        practice_id=plan.practice_id,
        plan=plan,
        concern=concern,
        level=level,
        worst=level,
        because=_because(findings),
        rules=_rules(findings),
        opened_at=now,
        raised_at=now,
        updated_at=now,
    )
    call_people(flag, now=now)
    log(plan, "flag_opened", f"{concern}: {level.word}. {flag.because}", now=now, flag=flag.pk, level=level.word)
    return flag


def _is_news(plan: Plan, concern: Concern, findings: Sequence[Finding]) -> bool:
    """Whether a person, or a good answer, has not already dealt with these facts."""
    last = plan.flags.filter(concern=concern).exclude(state=Flag.State.OPEN).order_by("updated_at", "pk").last()
    if last is None:
        return True
    covered_to = last.reviewed_at or last.updated_at
    return is_news(findings, covered_to=covered_to, level_then=Level(last.level))


def _follow(flag: Flag, findings: Sequence[Finding], *, now: dt.datetime) -> bool:
    """Update an open flag; True when it was raised."""
    if not findings:
        _ease(flag, now=now)
        return False
    level, rules = findings[0].level, _rules(findings)
    raised = level > flag.worst
    news = _facts(rules) != _facts(flag.rules)
    if not news and level == flag.level:
        return False
    flag.count += news
    flag.level, flag.rules, flag.because, flag.updated_at = level, rules, _because(findings), now
    if raised:
        flag.worst, flag.raised_at = level, now
        call_people(flag, now=now)
        log(flag.plan, "flag_raised", f"{flag.concern}: {level.word}. {flag.because}", now=now, flag=flag.pk)
    flag.save()
    return raised


def _ease(flag: Flag, *, now: dt.datetime) -> None:
    """A good answer: a monitor flag settles itself; anything that was ever worse waits for a person."""
    if flag.level == Level.ON_TRACK:
        return
    flag.updated_at = now
    if flag.worst <= Level.MONITOR:
        flag.state = Flag.State.SETTLED
    else:
        flag.level = Level.ON_TRACK
    flag.save(update_fields=["state", "level", "updated_at"])
    log(flag.plan, "flag_eased", f"{flag.concern}: a newer answer is good", now=now, flag=flag.pk)


def _because(findings: Sequence[Finding]) -> str:
    """The worst reason alone: one line with its numbers. The others stand with the rules."""
    return findings[0].because


def _facts(rules: Sequence[dict[str, str]]) -> list[dict[str, str]]:
    """What makes findings differ: everything but the running hours in their words. A database may reorder the keys."""
    return [{key: value for key, value in each.items() if key != "because"} for each in rules]


def _rules(findings: Sequence[Finding]) -> list[dict[str, str]]:
    return [
        {
            "rule": each.rule,
            "level": each.level.word,
            "certainty": each.certainty.value,
            "because": each.because,
            "source": each.source,
            "since": each.since.isoformat() if each.since is not None else "",
        }
        for each in findings
    ]
