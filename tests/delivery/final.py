"""What is stored, by names and not by numbers, so that two moments can be compared."""

from __future__ import annotations

import datetime as dt
from typing import Any

from followup.models import CheckIn, Dose, Flag, Message, Plan, Reply, Route, SendAttempt, Task

Json = dict[str, Any]


def state_of_all() -> Json:
    """Every row of delivery and of what it serves, by practice; what belongs to none stands under ""."""
    found: dict[str, dict[str, list[Any]]] = {}
    for kind, slug, what in _rows():
        found.setdefault(slug, {}).setdefault(kind, []).append(what)
    return {slug: {kind: sorted(rows, key=repr) for kind, rows in kinds.items()} for slug, kinds in found.items()}


def differences(one: Json, other: Json) -> str:
    """The rows that stand in only one of them."""
    rows = [
        {f"{slug} {kind} {row}" for slug, kinds in each.items() for kind, many in kinds.items() for row in many}
        for each in (one, other)
    ]
    return "\n".join(
        [*(f"- {row}" for row in sorted(rows[0] - rows[1])), *(f"+ {row}" for row in sorted(rows[1] - rows[0]))]
    )


def _rows() -> list[tuple[str, str, list[Any]]]:
    whole = "plan__patient__owner__name", "plan__patient__name", "plan__operated_on"
    rows: list[tuple[str, str, list[Any]]] = []

    def add(kind: str, query: Any, *columns: str) -> None:
        rows.extend(
            (kind, str(slug), [_plain(each) for each in row])
            for slug, *row in query.values_list("practice__slug", *columns)
        )

    add(
        "plans",
        Plan.objects,
        "patient__owner__name",
        "patient__name",
        "state",
        "paused",
        "version",
        "level",
        "look_again_at",
        "outcome",
    )
    add(
        "check-ins",
        CheckIn.objects,
        *whole,
        "kind",
        "at",
        "state",
        "asked_at",
        "remind_at",
        "reminders",
        "could_not_be_asked",
    )
    add("doses", Dose.objects, *whole, "drug", "number", "at", "amount", "state", "held", "reminded_at", "outcome")
    add(
        "messages",
        Message.objects,
        *whole,
        "recipient__person__name",
        "staff__name",
        "purpose",
        "medium",
        "due_at",
        "not_before",
        "expires_at",
        "state",
        "priority",
        "attempts",
        "max_attempts",
        "unknown_outcomes",
        "sent_at",
        "last_error_class",
        "subject",
    )
    add("tasks", Task.objects, *whole, "kind", "text", "due_at", "done_at")
    add(
        "flags",
        Flag.objects,
        *whole,
        "concern",
        "level",
        "worst",
        "state",
        "count",
        "step",
        "next_alert_at",
        "outcome",
        "because",
    )
    add("replies", Reply.objects, *whole, "client_id", "state")
    tries = SendAttempt.objects.values_list(
        "message__practice__slug", "message__subject", "message__due_at", "message__medium", "number", "outcome"
    )
    rows.extend(("tries", str(slug), [_plain(each) for each in row]) for slug, *row in tries)
    rows.extend(
        ("routes", "", [_plain(each) for each in row])
        for row in Route.objects.values_list("failures", "shut_until", "why")
    )
    return rows


def _plain(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return value.astimezone(dt.UTC).isoformat()
    return value if value is None or isinstance(value, (bool, int, float)) else str(value)
