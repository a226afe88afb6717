"""Records of a recovery: one file each, with the questions that are asked of it."""

from __future__ import annotations

from followup.models.channel import Channel
from followup.models.check_in import CheckIn
from followup.models.count import Count
from followup.models.dose import Dose
from followup.models.event import Event
from followup.models.flag import Flag
from followup.models.gap import Gap
from followup.models.heartbeat import Heartbeat
from followup.models.installation import Installation
from followup.models.message import Message, SendAttempt
from followup.models.notice import Notice
from followup.models.photo import Photo
from followup.models.plan import Plan
from followup.models.plan_version import PlanVersion
from followup.models.practice_text import PracticeText, UsualWords
from followup.models.protocol_version import ProtocolVersion
from followup.models.recipient import Recipient
from followup.models.reply import Observation, Reply
from followup.models.review import WoundReview
from followup.models.route import Route
from followup.models.task import Task
from followup.models.verdict import Verdict

__all__ = [
    "Channel",
    "CheckIn",
    "Count",
    "Dose",
    "Event",
    "Flag",
    "Gap",
    "Heartbeat",
    "Installation",
    "Message",
    "Notice",
    "Observation",
    "Photo",
    "Plan",
    "PlanVersion",
    "PracticeText",
    "ProtocolVersion",
    "Recipient",
    "Reply",
    "Route",
    "SendAttempt",
    "Task",
    "UsualWords",
    "Verdict",
    "WoundReview",
]
