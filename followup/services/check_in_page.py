"""One question of a check-in as a page shows it, and the page at the end. Read models: nothing here writes.

`session` is the client-made id under which the answers of one check-in are kept.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _

from followup.domain.asked_again import asked_again
from followup.domain.case import Case
from followup.domain.question_words import Asked, Kind
from followup.domain.questions import (
    CORE,
    NOT_SURE,
    QUESTIONS,
    SKIPPED,
    next_question,
    question_before,
)
from followup.domain.red_answers import red_in
from followup.domain.silence import NOT_TRIAGED
from followup.domain.terms import GRAZERS, CheckInKind, Level, Species
from followup.domain.told import CLOCK, DID_NOT_SEE, buttons
from followup.domain.why_silent import WHY_SILENT
from followup.domain.wound_words import GLANCE, WORSE
from followup.drawing.answers import drawing_of
from followup.models import CheckIn, Plan, Recipient, Reply
from followup.services.advice import Advice, advice_for, told_time
from followup.services.facts import case_to_ask, hours_of, protocol_of, readable, recovery_of
from followup.services.kind_words import kind_of
from followup.services.owner_page import due_check_ins
from followup.services.raw_answers import every_answer, given_in


@dataclass(frozen=True)
class Choice:
    """One answer to choose. `drawing`: the template that is drawn beside it; empty: words alone."""

    value: str
    words: str
    chosen: bool
    drawing: str = ""


@dataclass(frozen=True)
class QuestionPage:
    """One question. `typed` is what a text field holds; `back` the key of the question before, empty for the first.

    `patient` and `species` say of whom it is asked, as a heading does.
    """

    patient: str
    species: str

    key: str
    kind: str
    heading: str
    why: str
    choices: tuple[Choice, ...]
    typed: str
    skips: bool
    back: str


@dataclass(frozen=True)
class EndPage:
    """What the owner is told when the answers are in, and where he may go on. `level` is the level in words.

    `hint`: how to become sure of what he was not sure of. `worse`: from when it would count as more urgent by time
    alone. `species` as an owner reads it.
    """

    patient: str
    level: str
    level_words: str
    advice: Advice
    goes_on: bool
    wants_photo: bool
    words_say_died: bool
    species: str
    hint: str
    worse: str


def session_reply(plan: Plan, recipient: Recipient, session: str) -> Reply | None:
    """The answers kept under this id, if they are this person's about this animal."""
    return plan.replies.filter(recipient=recipient, client_id=session).first()


def planned_questions(plan: Plan, reply: Reply | None, now: dt.datetime) -> tuple[str, ...]:
    """Which questions this check-in began with: what is due now, each once, worst consequence first."""
    if reply is not None and reply.raw.get("questions"):
        return tuple(reply.raw["questions"])
    waiting = due_check_ins(plan, now)
    one_question = bool(waiting) and all(each.kind == CheckInKind.EXTRA for each in waiting)
    due = {key for check_in in waiting for key in check_in.questions} & QUESTIONS.keys()
    keys = (due or set(CORE)) | (set() if one_question else _again(plan))
    known = readable(lambda: protocol_of(plan).course.question_order, otherwise=tuple(QUESTIONS))
    order = [*known, *QUESTIONS]
    ordered = sorted(keys, key=order.index)
    return (*ordered, WHY_SILENT) if _was_silent(waiting, now) else tuple(ordered)


def _again(plan: Plan) -> set[str]:
    """What was answered unfavourably before; nothing where the facts cannot be read, for asking must go on."""
    unfavourable = readable(lambda: frozenset(asked_again(recovery_of(plan))), otherwise=frozenset[str]())
    return set(unfavourable & QUESTIONS.keys())


def asks_why(plan: Plan, now: dt.datetime) -> bool:
    """Whether an answer now would end a silence, so that we ask what was the reason. Source: evidence, C-10."""
    return _was_silent(due_check_ins(plan, now), now)


def _was_silent(waiting: Sequence[CheckIn], now: dt.datetime) -> bool:
    return any(each.answer_by <= now and each.kind not in NOT_TRIAGED for each in waiting)


def newest_due(plan: Plan, now: dt.datetime) -> CheckIn | None:
    """The check-in that an answer now belongs to."""
    return next(iter(reversed(due_check_ins(plan, now))), None)


def next_key(plan: Plan, reply: Reply | None, now: dt.datetime) -> str | None:
    """The next question to put; None when all have been answered."""
    given = given_in(reply) if reply is not None else {}
    return next_question(planned_questions(plan, reply, now), given, case_to_ask(plan))


def question_page(plan: Plan, reply: Reply | None, key: str, *, now: dt.datetime) -> QuestionPage:
    """The page of one question, with what was answered before. Raises KeyError for a question that nobody asks."""
    asked = QUESTIONS[key]
    given = given_in(reply) if reply is not None else {}
    planned = planned_questions(plan, reply, now)
    chosen = given.get(key, ())
    words = {"patient": plan.patient.name, "since": _since(plan, reply, now)}
    return QuestionPage(
        key=key,
        kind=asked.kind.value,
        heading=_(asked.words) % words,
        why=_(asked.why_for(Species(plan.patient.species))) % words,
        choices=tuple(_choices(plan, asked, chosen, words, now)),
        typed=_typed(asked, chosen),
        skips=asked.unsure is None and asked.kind is not Kind.WHEN,
        back=question_before(key, planned, given, case_to_ask(plan)) or "",
        patient=plan.patient.name,
        species=kind_of(plan.patient),
    )


def end_page(plan: Plan, reply: Reply, *, now: dt.datetime) -> EndPage:
    """The page at the end, or in the middle after a red answer."""
    level = told_level(plan, reply)
    advice = advice_for(plan, level, now=now)
    return EndPage(
        patient=plan.patient.name,
        level=level.word,
        level_words=level_words(level),
        advice=advice,
        goes_on=next_key(plan, reply, now) is not None,
        wants_photo=wants_photo(reply),
        words_say_died=plan.paused == Plan.Pause.WORDS_SAY_DIED,
        species=kind_of(plan.patient),
        hint=_hint(plan, reply),
        worse="" if advice.tonight or level is Level.EMERGENCY else _worse(plan, now),
    )


def _worse(plan: Plan, now: dt.datetime) -> str:
    rises = plan.look_again_at
    if rises is None or rises <= now:
        return ""
    words = {"time": told_time(rises, hours_of(plan), now=now)}
    return _("It counts as more urgent %(time)s, if nothing new is told until then.") % words


def _hint(plan: Plan, reply: Reply) -> str:
    """How to become sure. Source: clinical defaults, 6.7."""
    given = given_in(reply)
    unsure = any(NOT_SURE in given.get(key, ()) for key in ("appetite", "faeces"))
    if not unsure or plan.patient.species not in GRAZERS:
        return ""
    words = _("Not sure? Put %(patient)s alone for an hour, with food, and count what is eaten and the droppings.")
    return words % {"patient": plan.patient.name}


def told_level(plan: Plan, reply: Reply) -> Level:
    """What the owner is told. What could not be weighed is urgent at least, an emergency where it is red by itself."""
    level = Level(plan.level)
    if reply.state == Reply.State.FOR_A_PERSON:
        red = red_in(every_answer(reply), Species(plan.patient.species))
        return Level.EMERGENCY if red else max(level, Level.URGENT)
    return level


def shown_at_once(plan: Plan, reply: Reply | None) -> bool:
    """Whether what there is to say cannot wait for the end of other patients' questions.

    Nobody is written to about it while his page is open, and he may close it.
    """
    return bool(plan.paused) or (reply is not None and told_level(plan, reply) >= Level.URGENT)


def level_words(level: Level) -> str:
    """The level as an owner reads it."""
    return {
        Level.EMERGENCY: _("Emergency"),
        Level.URGENT: _("Needs a vet's word"),
        Level.MONITOR: _("Keep watching"),
        Level.ON_TRACK: _("Nothing worrying told"),
    }[level]


def wants_photo(reply: Reply) -> bool:
    """Whether this check-in asks for a photo of the wound, and none came with it yet."""
    asked = reply.check_in is not None and reply.check_in.photo
    return (asked or WORSE in given_in(reply).get(GLANCE, ())) and not reply.photos.exists()


def _choices(plan: Plan, asked: Asked, chosen: Sequence[str], words: dict[str, str], now: dt.datetime) -> list[Choice]:
    species = Species(plan.patient.species)
    offered = [(value, _(text) % words) for value, text in asked.answers_for(species)]
    if asked.kind is Kind.WHEN:
        whens = buttons(now, hours_of(plan), since=plan.surgery_ended_at)
        offered = [(when.value, _(when.words)) for when in whens]
    if asked.kind is Kind.SEVERAL:
        offered.append(("none", _("None of these")))
    if asked.unsure is not None:
        offered.append((NOT_SURE, _("I am not sure")))
    case = case_to_ask(plan)
    return [Choice(value, text, value in chosen, _drawing(asked.key, value, case)) for value, text in offered]


def _drawing(key: str, answer: str, case: Case) -> str:
    name = drawing_of(key, answer, case)
    return f"followup/drawings/{name}.svg" if name else ""


def _typed(asked: Asked, chosen: Sequence[str]) -> str:
    """What the text field held: a time that was typed, a weight, words."""
    value = chosen[0] if chosen and chosen[0] not in {SKIPPED, NOT_SURE, DID_NOT_SEE} else ""
    if asked.kind is Kind.WHEN:
        return value if CLOCK.match(value) else ""
    if asked.kind is Kind.REASON:
        return "".join(chosen[1:])
    return value if asked.kind in {Kind.WEIGHT, Kind.WORDS} else ""


def _since(plan: Plan, reply: Reply | None, now: dt.datetime) -> str:
    """When we last heard, before this check-in, on the owner's clock: "16:30" today, else with its day."""
    earlier = plan.observations.exclude(reply=reply) if reply is not None else plan.observations.all()
    last = earlier.order_by("seen_at", "pk").last()
    heard_at, hours = last.seen_at if last is not None else plan.discharged_at, hours_of(plan)
    local = hours.local(heard_at)
    if local.date() == hours.local(now).date():
        return f"{local:%H:%M}"
    yesterday = local.date() == hours.local(now).date() - dt.timedelta(days=1)
    said = _("yesterday at %(clock)s") if yesterday else _("%(weekday)s at %(clock)s")
    return said % {"clock": f"{local:%H:%M}", "weekday": WEEKDAYS[local.weekday()]}
