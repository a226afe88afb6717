"""What happened to one patient, newest first: messages, replies with answers, verdicts, photos, steps of staff.

What is repeated until somebody acts stands once, with its count: a night's alerts would bury what they are about.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from followup.casefile import rules_in
from followup.domain.question_words import Asked
from followup.domain.questions import NOT_SURE, QUESTIONS, SKIPPED
from followup.models import Message, Photo, Plan, Reply, Verdict
from followup.services.raw_answers import given_together

TOLD_ELSEWHERE = {"reply", "observation", "level_changed", "photo", "silence_reason"}
"""Events whose row of its own is shown instead."""


REPEATED = {"nobody_on_call", "no_outcome"}
"""Events that come again with each alert of one flag."""


@dataclass(frozen=True)
class Weighed:
    """A verdict whole. `rules` are its findings, worst first; `level` is stored words, `was` the level before it."""

    level: str
    was: str
    cause: str
    protocol: str
    rules: tuple[Mapping[str, str], ...]


@dataclass(frozen=True)
class Line:
    """One thing that happened. `who` did it, empty for the program; `details` are questions with answers.

    `repeats`: what this row stands for, each with its time, where it is more than one thing.
    """

    at: dt.datetime
    kind: str
    who: str
    words: str
    details: tuple[tuple[str, str], ...] = ()
    photo: Photo | None = None
    weighed: Weighed | None = None
    repeats: tuple[tuple[dt.datetime, str], ...] = ()


def timeline(plan: Plan) -> tuple[Line, ...]:
    """Everything on record about this plan. Five queries."""
    lines = [*_messages(plan), *_replies(plan), *_verdicts(plan), *_photos(plan), *_events(plan)]
    return tuple(sorted(lines, key=lambda line: line.at, reverse=True))


def answers_in(reply: Reply, patient: str) -> tuple[tuple[str, str], ...]:
    """Each question of a reply with the answer, in the words that the owner read."""
    given: dict[str, list[str]] = {each["key"]: each["values"] for each in reply.raw.get("entries", ())}
    given |= given_together(reply)
    words = {"patient": patient, "since": _("the last time")}
    return tuple(_in_words(key, values, words) for key, values in given.items())


def _in_words(key: str, values: list[str], words: Mapping[str, str]) -> tuple[str, str]:
    asked = QUESTIONS.get(key)
    if asked is None:
        return key, ", ".join(values)
    return _(asked.words) % words, ", ".join(_answer(asked, value, words) for value in values)


def _answer(asked: Asked, value: str, words: Mapping[str, str]) -> str:
    known = {each: _(text) % words for each, text in asked.answers}
    known |= {NOT_SURE: _("I am not sure"), SKIPPED: _("not answered"), "none": known.get("none", _("None of these"))}
    return known.get(value, value.replace("_", " "))


def _messages(plan: Plan) -> Iterator[Line]:
    alerts: dict[int | None, list[Line]] = {}
    for message in plan.messages.select_related("recipient__person", "staff"):
        to = message.recipient.person if message.recipient is not None else message.staff
        words = f"{message.get_medium_display()} to {to}: {message.subject} ({_what_became(message)})"
        line = Line(message.sent_at or message.due_at, "message", "", words)
        if message.purpose == Message.Purpose.ALERT:
            alerts.setdefault(message.flag_id, []).append(line)
        else:
            yield line
    yield from (_folded(lines, "alerts to staff") for lines in alerts.values())


def _folded(lines: Sequence[Line], words: str) -> Line:
    """One row for things of one kind about one flag, where the first stood; a single one stays as it is."""
    in_order = sorted(lines, key=lambda line: line.at)
    if len(in_order) == 1:
        return in_order[0]
    return replace(
        in_order[0], words=f"{len(in_order)} {words}", repeats=tuple((line.at, line.words) for line in in_order)
    )


def _what_became(message: Message) -> str:
    if message.state == Message.State.SENT and message.sent_through == "tray":
        return "in the tray"
    return message.get_state_display()


def _replies(plan: Plan) -> Iterator[Line]:
    for reply in plan.replies.select_related("recipient__person", "staff"):
        who = f"{reply.staff}, on the phone" if reply.staff else str(reply.recipient.person if reply.recipient else "")
        words = f"“{reply.text}”" if reply.text else "answered"
        words += ", not weighed yet" if reply.state == Reply.State.STORED else ""
        yield Line(reply.received_at, "reply", who, words, answers_in(reply, plan.patient.name))


def _verdicts(plan: Plan) -> Iterator[Line]:
    """Each verdict that differs from the one before in its level or its rules; the rest is kept, but is no news."""
    before: Verdict | None = None
    for row in plan.verdicts.order_by("at", "pk"):
        changed = before is None or before.level != row.level
        if before is None or changed or rules_in(before.body) != rules_in(row.body):
            yield _verdict(row, before, changed=changed)
        before = row


def _verdict(row: Verdict, before: Verdict | None, *, changed: bool) -> Line:
    found = tuple(row.body.get("flags", ()))
    weighed = Weighed(
        level=row.get_level_display(),
        was="" if before is None else before.get_level_display().replace("_", " "),
        cause=Verdict.Cause(row.cause).label,
        protocol=row.body.get("protocol", ""),
        rules=found,
    )
    because = "; ".join(each["because"] for each in found) or _("nothing in the answers worries us")
    words = because if changed else _("as before; %(because)s") % {"because": because}
    return Line(row.at, "level" if changed else "verdict", "", words, weighed=weighed)


def _photos(plan: Plan) -> Iterator[Line]:
    for photo in plan.photos.all():
        yield Line(photo.received_at, "photo", "", f"Photo, {photo.get_state_display()}", photo=photo)


def _events(plan: Plan) -> Iterator[Line]:
    repeated: dict[tuple[str, object], list[Line]] = {}
    for event in plan.events.exclude(what__in=TOLD_ELSEWHERE).select_related("staff"):
        what = event.what.replace("_", " ")
        told = event.text if event.text.startswith(what) else f"{what}: {event.text}" if event.text else what
        line = Line(event.at, "event", str(event.staff or ""), told)
        if event.what in REPEATED:
            repeated.setdefault((event.what, event.data.get("flag")), []).append(line)
        else:
            yield line
    yield from (_folded(lines, f"times: {lines[0].words}") for lines in repeated.values())
