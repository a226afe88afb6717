"""Explain a verdict: each finding with its rule, grounds and what would lower it; what is unknown, changed, to do.

Worked out when somebody asks and never inside triage, which runs thousands of times a second.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import replace

from followup.domain.advice import latest_for_urgent
from followup.domain.caution import CAUTION
from followup.domain.drugs_that_explain import that_explain
from followup.domain.explanation import Before, Changes, Explained, Explanation, Found, Moved, ToDo
from followup.domain.lower import lower_of
from followup.domain.not_known import not_known
from followup.domain.recovery import Recovery
from followup.domain.rests_on import grounds_of
from followup.domain.rule_words import rule_in_words
from followup.domain.terms import Certainty, Level
from followup.domain.triage import findings_at, moments_ahead
from followup.domain.verdict import Finding, Verdict, worst

CERTAINTY = {
    Certainty.CERTAIN: "certain: the answers settle it",
    Certainty.POSSIBLE: "possible: the answers allow it and do not settle it",
}
NOTHING_LOWERS = "Nothing that is answered makes it milder: a vet weighs it and says what follows."
ON_A_LIST_WITHIN = dt.timedelta(hours=24)
"""A monitor is looked at no later, weekends included. Source: clinical defaults, 1."""

WHAT = {
    Level.EMERGENCY: (
        "a vet now, at any hour",
        "the owner phones the number that answers now; whoever is on call is alerted",
    ),
    Level.URGENT: (
        "speak to the owner",
        (
            "the practice, at the top of its list; if it does not open in time, on call in waking hours; "
            "else the owner phones the out-of-hours provider"
        ),
    ),
    Level.MONITOR: ("look at it on the next list", "whoever works the list of the practice"),
    Level.ON_TRACK: ("nothing to do", "nobody; the owner phones if worried"),
}
"""What a level means for the clinic, and who. Source: clinical defaults, 1."""


def explain(recovery: Recovery, verdict: Verdict, previous: Before | None) -> Explanation:
    """The whole explanation of a verdict on this recovery; `previous`: the verdict that it is compared with."""
    known = recovery.until(verdict.at)
    return Explanation(
        findings=tuple(_explained(Found(each, known, verdict.at)) for each in verdict.findings),
        unknown=not_known(known, verdict),
        changes=None if previous is None else changes_since(previous, verdict),
        to_do=_to_do(known, verdict),
        caution=CAUTION,
    )


def before_newest(recovery: Recovery, now: dt.datetime) -> Before | None:
    """How it stood at the newest look at the animal, without that look; None: nobody has looked."""
    known = recovery.until(now)
    if not known.observations:
        return None
    newest = known.observations[-1].at
    then = known.until(newest)
    without = replace(then, observations=tuple(seen for seen in then.observations if seen.at < newest))
    return before(newest, findings_at(without, newest))


def before(at: dt.datetime, findings: Iterable[Finding]) -> Before:
    """Findings as something to compare with."""
    listed = list(findings)
    return Before(at, worst(listed), _by_rule(listed))


def changes_since(previous: Before, verdict: Verdict) -> Changes:
    """Which findings are new, gone, raised or eased; the worst first."""
    was, now = previous.findings, _by_rule(verdict.findings)
    moved = [_moved(rule, was.get(rule), now.get(rule)) for rule in (*now, *(each for each in was if each not in now))]
    return Changes(
        since=previous.at,
        was=previous.level,
        now=verdict.level,
        findings=tuple(each for each in moved if each.was is not each.now),
    )


def level_since(recovery: Recovery, now: dt.datetime, level: Level, within: dt.timedelta) -> dt.datetime:
    """Since when it has been at least so bad without a break, looking back no further than `within`."""
    since, end = now, now
    for start in _news(recovery, now):
        known = recovery.until(start)
        for moment in reversed([start, *(each for each in moments_ahead(known, start) if each < end)]):
            if now - moment > within or worst(findings_at(known, moment)) < level:
                return since
            since = moment
        end = start
    return since


def _explained(found: Found) -> Explained:
    grounds, lower = grounds_of(found), lower_of(found)
    return Explained(
        rule=rule_in_words(found.known, found.finding.rule) or found.finding.because,
        grounds=grounds,
        certainty=CERTAINTY[found.finding.certainty],
        lower=lower,
        nothing_lowers="" if lower else NOTHING_LOWERS,
        drugs=that_explain(found.known, grounds),
    )


def _by_rule(findings: Iterable[Finding]) -> dict[str, tuple[Level, str]]:
    """The worst of each rule, which may hold more than once."""
    found: dict[str, tuple[Level, str]] = {}
    for each in sorted(findings, key=lambda one: -one.level):
        found.setdefault(each.rule, (each.level, each.because))
    return found


def _moved(rule: str, was: tuple[Level, str] | None, now: tuple[Level, str] | None) -> Moved:
    words = (now or was or (Level.ON_TRACK, ""))[1]
    return Moved(rule, words, None if was is None else was[0], None if now is None else now[0])


def _to_do(known: Recovery, verdict: Verdict) -> ToDo:
    level = verdict.level
    what, who = WHAT[level]
    if level is Level.ON_TRACK:
        return ToDo(what, who, None)
    if level is Level.EMERGENCY:
        return ToDo(what, who, verdict.at)
    since = level_since(known, verdict.at, level, ON_A_LIST_WITHIN)
    if level is Level.MONITOR:
        return ToDo(what, who, since + ON_A_LIST_WITHIN)
    case = known.case
    by = latest_for_urgent(since, case.hours, species=known.species, since_surgery=case.since_surgery(since))
    return ToDo(what, who, by)


def _news(recovery: Recovery, now: dt.datetime) -> Iterator[dt.datetime]:
    """Every moment at which something became known, the newest first; at last the discharge."""
    told = {seen.at for seen in recovery.observations} | {each.at for each in recovery.case.vet_said}
    told |= {each.at for each in recovery.releases} | {each.at for each in recovery.reviews}
    start = recovery.case.discharged_at
    yield from sorted((at for at in {*told, start} if start <= at <= now), reverse=True)
