"""What to ask next, beyond the fixed schedule. Source: clinical defaults, 7 and 6.7 (D)."""

from __future__ import annotations

import datetime as dt

from followup.domain.answers import Question, Unsure
from followup.domain.clocks import Clock, clock_of
from followup.domain.recovery import Recovery
from followup.domain.terms import GRAZERS, Sign
from followup.domain.unsure import standing_unsure
from followup.domain.verdict import Ask, Verdict

BEFORE_IT_RISES = dt.timedelta(minutes=30)
AT_LEAST_AFTER = dt.timedelta(hours=1)
IN_AN_HOUR = dt.timedelta(hours=1)
IN_TWO_HOURS = dt.timedelta(hours=2)
GRAZERS_UNTIL = dt.timedelta(hours=72)
"""So long after surgery a small herbivore's owner who is not sure is asked again in two hours (6.7)."""
COOL_UNTIL = dt.timedelta(hours=12)
"""So long after surgery cool ears and feet are felt again in an hour; later they are judged as they are (4)."""

_QUESTIONS = {
    Sign.FOOD: ("appetite", "last_ate_at"),
    Sign.MEAL: ("appetite", "last_ate_at"),
    Sign.FAECES: ("faeces", "last_faeces_at"),
    Sign.URINE: ("urine", "last_urine_at"),
}


def next_ask(known: Recovery, verdict: Verdict) -> Ask | None:
    """The next question that is not in the schedule; None where the next check-in is soon enough."""
    if verdict.paused is not None or not known.observations:
        return None
    running = {sign: clock for sign in Sign if (clock := clock_of(known, sign)).runs}
    wanted = _wanted(known, verdict, running)
    if not wanted:
        return None
    at, questions = min(wanted, key=lambda each: each[0])
    following = [each.at for each in known.check_ins if each.at > verdict.at]
    if following and min(following) <= at:
        return None
    return Ask(at, tuple(dict.fromkeys(questions)))


def _wanted(known: Recovery, verdict: Verdict, running: dict[Sign, Clock]) -> list[tuple[dt.datetime, list[str]]]:
    hours, now = known.case.hours, verdict.at
    wanted = [(hours.next_awake(at), keys) for at, keys in _not_sure(known) if at > now]
    if not running:
        return wanted
    asked = [key for sign in running for key in _QUESTIONS[sign]]
    wanted.append((_bedtime_or_waking(known, now), asked))
    if verdict.look_again_at is not None:
        earliest = known.observations[-1].at + AT_LEAST_AFTER
        at = max(verdict.look_again_at - BEFORE_IT_RISES, earliest)
        if at > now and hours.awake(at) and at < verdict.look_again_at:
            wanted.append((at, asked))
    return wanted


def _bedtime_or_waking(known: Recovery, now: dt.datetime) -> dt.datetime:
    hours = known.case.hours
    day = hours.waking_day(now)
    moments = [hours.waking_check_on(day), hours.bedtime_on(day), hours.next_waking(now)]
    return min(at for at in moments if at > now)


def _not_sure(known: Recovery) -> list[tuple[dt.datetime, list[str]]]:
    """What is asked again because the owner was not sure, or because of cool ears, and when."""
    found: list[tuple[dt.datetime, list[str]]] = []
    for topic, wait in (
        (Unsure.DEMEANOUR, IN_AN_HOUR),
        (Unsure.BREATHING, IN_AN_HOUR),
        (Unsure.APPETITE, IN_TWO_HOURS),
        (Unsure.FAECES, IN_TWO_HOURS),
    ):
        said = standing_unsure(known, topic)
        if said and (topic not in {Unsure.APPETITE, Unsure.FAECES} or _is_early_grazer(known, said[-1])):
            found.append((said[-1] + wait, [topic.value]))
    cool = [seen.at for seen in known.standing(Question.WARMTH) if seen.answer == "cool_ears_feet"]
    if cool and known.case.since_surgery(cool[-1]) < COOL_UNTIL:
        found.append((cool[-1] + IN_AN_HOUR, ["warmth"]))
    return found


def _is_early_grazer(known: Recovery, said_at: dt.datetime) -> bool:
    return known.species in GRAZERS and known.case.since_surgery(said_at) < GRAZERS_UNTIL
