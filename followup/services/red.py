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
from followup.domain.red_answers import red_in
from followup.domain.terms import Level, Observer, Species
from followup.domain.understood import facts_of
from followup.models import Plan, Reply
from followup.services.facts import hours_of, recovery_of
from followup.services.faults import write_down
from followup.services.raw_answers import answered_in

logger = logging.getLogger(__name__)


def is_red(reply: Reply, plan: Plan, *, now: dt.datetime) -> bool:
    """Whether the answers not yet taken in make an emergency that was not one before. Reads; writes nothing.

    Where the rules cannot be read, an answer that is red without them still is; finishing calls a person.
    """
    try:
        seen = _seen(reply, plan, now)
        before = recovery_of(plan)
        return bool(_emergencies(replace(before, observations=(*before.observations, seen))) - _emergencies(before))
    except Exception as fault:  # noqa: BLE001 - the owner's answer is kept and his page goes on, whatever this is
        write_down(logger, f"reply {reply.pk}: an answer cannot be weighed yet", fault)
        return bool(red_in(answered_in(reply), Species(plan.patient.species)))


def _seen(reply: Reply, plan: Plan, now: dt.datetime) -> Observation:
    hours = hours_of(plan)
    facts = facts_of(answered_in(reply), at=now, by=Observer.OWNER, hours=hours, since=plan.surgery_ended_at)
    return read_observation(facts)


def _emergencies(recovery: Recovery) -> set[str]:
    """Rules about single answers only: a picture with hours in it waits for the next answer too."""
    return {each.rule for each in answer_findings(recovery) if each.level is Level.EMERGENCY}
