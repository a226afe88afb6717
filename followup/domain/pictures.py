"""Named pictures: several facts that mean more together than alone. Never averaged, judged at `now`.

Source: clinical defaults, 4 (D and C).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from followup.domain.answer_rules import any_stands, holds_for, level_at
from followup.domain.answers import STRONG_PAIN_SIGNS
from followup.domain.clock_rules import WITHOUT, counts_in_full_at, hours_in_words, reached
from followup.domain.clocks import clock_of
from followup.domain.parts import BLEEDING, DULL, PARTS
from followup.domain.recovery import Recovery
from followup.domain.rules import PictureRule
from followup.domain.terms import Certainty, Level, Sign
from followup.domain.verdict import Finding

SEVERAL_SIGNS = 2
SEVERAL_BLEEDING_SIGNS = 2


def _dull(recovery: Recovery) -> bool:
    return any_stands(recovery, DULL)


def _without(recovery: Recovery, rule: PictureRule, sign: Sign, now: dt.datetime) -> tuple[Certainty, str] | None:
    """Whether the sign has been missing as long as the picture asks, and that in words."""
    limit = rule.hours[sign]
    clock = clock_of(recovery, sign)
    hit = reached(recovery, clock, (Level.URGENT, limit), now, recovery.case.surgery_ended_at)
    if hit is None:
        return None
    certainty = Certainty.CERTAIN if hit.in_full else Certainty.POSSIBLE
    return certainty, f"{WITHOUT[sign]} for {hours_in_words(clock, now)}"


def stasis(recovery: Recovery, rule: PictureRule, now: dt.datetime) -> tuple[Certainty, str] | None:
    """No food with a hurting or dull animal, or no droppings with a dull one."""
    looked = recovery.pain_signs()
    signs = looked[0] if looked is not None else frozenset()
    unwell = _dull(recovery) or bool(signs & STRONG_PAIN_SIGNS) or len(signs) >= SEVERAL_SIGNS
    parts = [
        _without(recovery, rule, Sign.FOOD, now) if unwell else None,
        _without(recovery, rule, Sign.FAECES, now) if _dull(recovery) else None,
    ]
    found = [part for part in parts if part is not None]
    shown = sorted(sign.value.replace("_", " ") for sign in signs)
    beside = " with " + ", ".join((["dull"] if _dull(recovery) else []) + shown)
    best = min(found, key=lambda part: part[0] is Certainty.POSSIBLE, default=None)
    return None if best is None else (best[0], best[1] + beside)


def bleeding(recovery: Recovery, _rule: PictureRule, _now: dt.datetime) -> tuple[Certainty, str] | None:
    """Two or more of pale or blue gums, cold all over, dull, swollen belly, fast breathing."""
    shown = [words for words, facts in BLEEDING.items() if any_stands(recovery, facts)]
    return (Certainty.CERTAIN, ", ".join(shown)) if len(shown) >= SEVERAL_BLEEDING_SIGNS else None


def diarrhoea(recovery: Recovery, rule: PictureRule, now: dt.datetime) -> tuple[Certainty, str] | None:
    """Diarrhoea, and no food for as long as the rule says."""
    if not any_stands(recovery, PARTS["diarrhoea"]):
        return None
    return _without(recovery, rule, Sign.FOOD, now)


def no_stool_and_ill(recovery: Recovery, rule: PictureRule, now: dt.datetime) -> tuple[Certainty, str] | None:
    """No stool for as long as the rule says, and vomiting or no food."""
    stool = _without(recovery, rule, Sign.FAECES, now)
    if stool is None:
        return None
    if recovery.vomited():
        return stool[0], stool[1] + " with vomiting"
    food = _without(recovery, rule, Sign.FOOD, now)
    return None if food is None else (_weaker(stool[0], food[0]), f"{stool[1]}, {food[1]}")


def _weaker(one: Certainty, other: Certainty) -> Certainty:
    """A picture is possible when one of its parts is only possible. Source: clinical defaults, 4."""
    return Certainty.POSSIBLE if Certainty.POSSIBLE in {one, other} else Certainty.CERTAIN


Picture = Callable[[Recovery, PictureRule, dt.datetime], tuple[Certainty, str] | None]
PICTURES: dict[str, Picture] = {
    "stasis": stasis,
    "bleeding": bleeding,
    "diarrhoea": diarrhoea,
    "no_stool_and_ill": no_stool_and_ill,
}


def picture_findings(recovery: Recovery, now: dt.datetime) -> Iterator[Finding]:
    """One finding for each picture that the facts make up at `now`."""
    for rule in recovery.rules.pictures:
        if not holds_for(rule, recovery.case):
            continue
        seen = PICTURES[rule.picture](recovery, rule, now)
        level = level_at(rule.steps, recovery.case.since_surgery(now))
        if seen is None or level is Level.ON_TRACK:
            continue
        certainty, words = seen
        certain = certainty is Certainty.CERTAIN
        yield Finding(
            rule=rule.code,
            concern=rule.concern,
            level=level if certain else level.one_less(),
            certainty=certainty,
            because=f"{rule.because}: {words}",
            source=rule.source.text,
            time_alone=bool(rule.hours),
        )


def picture_moments(recovery: Recovery) -> Iterator[dt.datetime]:
    """When a picture's window ends, or its hours are reached."""
    start = recovery.case.surgery_ended_at
    for rule in recovery.rules.pictures:
        yield from (start + step.until for step in rule.steps if step.until is not None)
        for sign, limit in rule.hours.items():
            clock = clock_of(recovery, sign)
            if clock.runs:
                yield clock.known.earliest + limit
                yield counts_in_full_at(recovery, clock, limit, start)
                certain = clock.certain_from(limit)
                yield certain if certain is not None else clock.known.earliest + limit
