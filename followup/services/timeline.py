"""What happened to one patient, newest first: messages, replies with answers, verdicts, photos, steps of staff."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from followup.domain.question_words import Asked
from followup.domain.questions import NOT_SURE, QUESTIONS, SKIPPED
from followup.models import Message, Photo, Plan, Reply, Verdict
from followup.services.raw_answers import given_together

TOLD_ELSEWHERE = {"reply", "observation", "level_changed", "photo", "silence_reason"}
"""Events whose row of its own is shown instead."""


@dataclass(frozen=True)
class Line:
    """One thing that happened. `who` did it, empty for the program; `details` are questions with answers."""

    at: dt.datetime
    kind: str
    who: str
    words: str
    details: tuple[tuple[str, str], ...] = ()
    photo: Photo | None = None


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
    for message in plan.messages.select_related("recipient__person", "staff"):
        to = message.recipient.person if message.recipient is not None else message.staff
        words = f"{message.get_medium_display()} to {to}: {message.subject} ({_what_became(message)})"
        yield Line(message.sent_at or message.due_at, "message", "", words)


def _what_became(message: Message) -> str:
    if message.state == Message.State.SENT and message.sent_through == "tray":
        return "in the tray"
    return message.get_state_display()


def _replies(plan: Plan) -> Iterator[Line]:
    for reply in plan.replies.select_related("recipient__person", "staff"):
        who = f"{reply.staff}, on the phone" if reply.staff else str(reply.recipient.person if reply.recipient else "")
        words = f"“{reply.text}”" if reply.text else "answered"
        yield Line(reply.received_at, "reply", who, words, answers_in(reply, plan.patient.name))


def _verdicts(plan: Plan) -> Iterator[Line]:
    for row in plan.verdicts.all():
        because = "; ".join(each["because"] for each in row.body.get("flags", ()))
        level = row.get_level_display().replace("_", " ")
        cause = Verdict.Cause(row.cause).label
        yield Line(row.at, "verdict", "", f"{level} ({cause}){f': {because}' if because else ''}")


def _photos(plan: Plan) -> Iterator[Line]:
    for photo in plan.photos.all():
        yield Line(photo.received_at, "photo", "", f"Photo, {photo.get_state_display()}", photo=photo)


def _events(plan: Plan) -> Iterator[Line]:
    for event in plan.events.exclude(what__in=TOLD_ELSEWHERE).select_related("staff"):
        what = event.what.replace("_", " ")
        told = event.text if event.text.startswith(what) else f"{what}: {event.text}" if event.text else what
        yield Line(event.at, "event", str(event.staff or ""), told)
