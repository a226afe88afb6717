"""Whether an answer is red: an emergency by what it says, not by time. Then it is acted on before the form is finished.

Source: clinical defaults, 6.8. Time alone (a clock, the decision before sleep) waits for the end of the form, since the
next answer may be that he has just eaten.
"""

from __future__ import annotations

import datetime as dt
import logging
from dataclasses import replace

from followup.casefile import read_observation
from followup.domain.answer_rules import answer_findings
from followup.domain.observation import Observation
from followup.domain.recovery import Recovery
from followup.domain.terms import FollowUpError, Level, Observer
from followup.domain.understood import facts_of
from followup.models import Plan, Reply
from followup.services.facts import case_of, recovery_of
from followup.services.raw_answers import answered_in

logger = logging.getLogger(__name__)


def is_red(reply: Reply, plan: Plan, *, now: dt.datetime) -> bool:
    """Whether the answers not yet taken in make an emergency that was not one before. Reads; writes nothing."""
    try:
        seen = _seen(reply, plan, now)
    except FollowUpError:
        logger.warning("reply %s: an answer cannot be read yet", reply.pk)
        return False  # finishing will hand it to a person
    before = recovery_of(plan)
    return bool(_emergencies(replace(before, observations=(*before.observations, seen))) - _emergencies(before))


def _seen(reply: Reply, plan: Plan, now: dt.datetime) -> Observation:
    hours = case_of(plan).hours
    facts = facts_of(answered_in(reply), at=now, by=Observer.OWNER, hours=hours, since=plan.surgery_ended_at)
    return read_observation(facts)


def _emergencies(recovery: Recovery) -> set[str]:
    """Rules about single answers only: a picture with hours in it waits for the next answer too."""
    return {each.rule for each in answer_findings(recovery) if each.level is Level.EMERGENCY}
