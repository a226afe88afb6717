"""What owners and staff say, or do not, in the stories of silence."""

from __future__ import annotations

import datetime as dt
import uuid

from clinic.models import Role
from followup.models import Flag, Plan, Reply
from followup.services.links import recipient_for
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.tick import tick
from tests import world
from tests.services.post import Post

GOOD = {"appetite": ["normal"], "last_ate_at": ["under_2_hours"], "faeces": ["normal"], "demeanour": ["bright"]}


def ticks(*moments: dt.datetime) -> None:
    for moment in moments:
        tick(now=moment, choose=Post())


def owner_says(plan: Plan, now: dt.datetime, **answers: list[str]) -> Reply:
    author = recipient_for(plan.practice, plan.patient.owner, now=now)
    return take_reply(plan, Incoming(uuid.uuid4().hex, together(answers)), author=author, now=now).reply


def staff_writes(plan: Plan, now: dt.datetime, **answers: list[str]) -> None:
    desk = world.staff(plan.practice, Role.FRONT_DESK)
    take_reply(plan, Incoming(uuid.uuid4().hex, together(answers)), author=desk, now=now)


def silence_of(plan: Plan) -> Flag:
    return plan.flags.filter(concern="silence").latest("opened_at")
