"""What one message costs in the database: statements and commits, of ours."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import connection
from django.test.utils import CaptureQueriesContext

from followup.models import Message
from followup.services.dispatch import send_due
from tests.faults.seeds import DUE, messages

MANY = 10
LATER = DUE + dt.timedelta(minutes=1)
WRITES = ("INSERT", "UPDATE", "DELETE")
CONTROL = ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")


def cost() -> str:
    """In words, of each further message of a run; on SQLite, whose transactions are among what Django notes."""
    messages(1 + MANY, by="email")
    Message.objects.exclude(pk=Message.objects.earliest("pk").pk).update(not_before=LATER)
    _statements(DUE)  # a first message writes down more than the next
    nothing, many = _statements(DUE), _statements(LATER)
    asked = (_asked(many) - _asked(nothing)) / MANY
    return f"{asked:.0f} statements and {(commits(many) - commits(nothing)) / MANY:.0f} commits a message"


def commits(statements: Iterable[str]) -> int:
    """How often something was written down for good."""
    found, within, written = 0, False, False
    for each in statements:
        within = each.startswith("BEGIN") or (within and not each.startswith("COMMIT"))
        written = written or each.startswith(WRITES)
        found += written and not within
        written = written and within
    return found


def _statements(now: dt.datetime) -> list[str]:
    with CaptureQueriesContext(connection) as captured:
        send_due(now=now)
    return [each["sql"] for each in captured.captured_queries]


def _asked(statements: Iterable[str]) -> int:
    return sum(not each.startswith(CONTROL) for each in statements)
