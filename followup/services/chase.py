"""What falls due with time: questions, doses, reminders, and plans whose level may have risen.

Safe to run twice, and twice at once: each step of a check-in is one conditional update, each message has its key.
"""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from django.db import transaction

from followup.domain.reminding import is_dense, reminders
from followup.domain.terms import GRAZERS, CheckInKind, Species
from followup.domain.wording import CHECK_IN, CHECK_IN_AND_DOSE, DOSE, HELD_DOSE, REMINDER, Text
from followup.models import CheckIn, Dose, Message, Plan, Recipient, Task, Verdict
from followup.services.assess import assess
from followup.services.facts import hours_of
from followup.services.log import log
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients, second_recipients
from followup.services.texts import clock_of, fill, names_of, words_of

logger = logging.getLogger(__name__)

SHARED_WITHIN = dt.timedelta(minutes=30)
"""A dose this near to a check-in shares its message. Source: clinical defaults, 7."""
MOST_AT_ONCE = 200
"""Rows of one kind in one tick; the rest is due at the next."""


@dataclass
class Asking:
    """What one person is asked in one message."""

    recipient: Recipient
    check_ins: list[CheckIn] = field(default_factory=list)
    doses: list[Dose] = field(default_factory=list)

    def plans(self) -> list[Plan]:
        """The plans that it is about, each once."""
        rows: list[CheckIn | Dose] = [*self.check_ins, *self.doses]
        return list({row.plan_id: row.plan for row in rows}.values())


def chase(*, now: dt.datetime) -> None:
    """Look at what time alone has changed, then ask what is due, then remind of what was not answered."""
    _each(Plan.objects.to_look_at(now)[:MOST_AT_ONCE], lambda plan: _look(plan, now=now), now=now)
    _ask_what_is_due(now=now)
    due = CheckIn.objects.to_remind(now).select_related("plan__practice", "plan__patient__owner")[:MOST_AT_ONCE]
    _each(due, lambda check_in: _remind(check_in, now=now), now=now)


def _look(plan: Plan, *, now: dt.datetime) -> None:
    assess(plan, now=now, cause=Verdict.Cause.TIME)


def _each(rows: Iterable[Plan | CheckIn], step: Callable[..., None], *, now: dt.datetime) -> None:
    """Take the step for each row; one that fails becomes a task for a person and never stops the others."""
    for row in rows:
        try:
            with transaction.atomic():
                step(row)
        except Exception:
            logger.exception("%s %s could not be dealt with", type(row).__name__, row.pk)
            _call_a_person(row if isinstance(row, Plan) else row.plan, now=now)


def _call_a_person(plan: Plan, *, now: dt.datetime) -> None:
    Plan.objects.filter(pk=plan.pk).update(look_again_at=None)
    _, made = Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"look:{plan.pk}:{now:%Y-%m-%d}",
        defaults={
            "plan": plan,
            "kind": Task.Kind.LOOK,
            "text": "The program could not judge this patient by itself: please look.",
            "due_at": now,
            "made_at": now,
        },
    )
    if made:
        log(plan, "needs_a_person", "triage or a reminder failed", now=now)


@transaction.atomic
def _ask_what_is_due(*, now: dt.datetime) -> None:
    """One message a person, whatever is due for however many patients."""
    askings: dict[int, Asking] = {}
    whole = ("plan__practice", "plan__patient__owner")
    for check_in in CheckIn.objects.to_ask(now).select_related(*whole)[:MOST_AT_ONCE]:
        if _taken(check_in, now=now):
            _add(check_in, askings, now=now)
    asked = {each.plan_id for asking in askings.values() for each in asking.check_ins}
    for dose in Dose.objects.to_remind(now + SHARED_WITHIN).select_related(*whole)[:MOST_AT_ONCE]:
        if (dose.plan_id in asked or dose.at <= now) and _reminded(dose, now=now):
            _add(dose, askings, now=now)
    for asking in askings.values():
        _write(asking, now=now)


def _add(row: CheckIn | Dose, askings: dict[int, Asking], *, now: dt.datetime) -> None:
    for asking in _askings(row.plan, askings, now=now):
        if isinstance(row, CheckIn):
            asking.check_ins.append(row)
        else:
            asking.doses.append(row)


def _askings(plan: Plan, askings: dict[int, Asking], *, now: dt.datetime) -> list[Asking]:
    return [askings.setdefault(each.pk, Asking(each)) for each in first_recipients(plan, now=now)]


def _taken(check_in: CheckIn, *, now: dt.datetime) -> bool:
    """Whether it is this worker that asks."""
    to_come = _reminders(check_in)
    return (
        CheckIn.objects.filter(pk=check_in.pk, state=CheckIn.State.PLANNED).update(
            state=CheckIn.State.ASKED, asked_at=now, remind_at=to_come[0] if to_come else None
        )
        == 1
    )


def _reminders(check_in: CheckIn) -> tuple[dt.datetime, ...]:
    kind = CheckInKind(check_in.kind)
    if kind in {CheckInKind.EXTRA, CheckInKind.OUTCOME}:
        return ()
    grazer = Species(check_in.plan.patient.species) in GRAZERS
    dense = is_dense(check_in.day, kind, grazer=grazer)
    return reminders(check_in.at, check_in.answer_by, hours_of(check_in.plan), dense=dense)


def _reminded(dose: Dose, *, now: dt.datetime) -> bool:
    return Dose.objects.filter(pk=dose.pk, reminded_at=None, state=Dose.State.PLANNED).update(reminded_at=now) == 1


def _write(asking: Asking, *, now: dt.datetime) -> None:
    plans = asking.plans()
    rows = [f"c{each.pk}" for each in asking.check_ins] + [f"d{each.pk}" for each in asking.doses]
    message = queue_to_owner(
        plans[0],
        asking.recipient,
        purpose=Message.Purpose.CHECK_IN if asking.check_ins else Message.Purpose.DOSE,
        key=f"ask:{asking.recipient.pk}:{'-'.join(rows)}",
        text=_text(asking, plans),
        now=now,
        expires_at=_expiry(asking),
        check_ins=asking.check_ins,
        doses=asking.doses,
        collapse_key="check-in" if asking.check_ins and not asking.doses else "",
    )
    if message is None:
        CheckIn.objects.filter(pk__in=[each.pk for each in asking.check_ins]).update(could_not_be_asked=True)


def _expiry(asking: Asking) -> dt.datetime:
    """A check-in is worth sending until the owner sleeps; a dose until it counts as missed."""
    ends = [max(each.answer_by, hours_of(each.plan).next_sleep(each.at)) for each in asking.check_ins]
    return min([*ends, *(each.give_until for each in asking.doses)])


def _text(asking: Asking, plans: list[Plan]) -> Text:
    held = [dose for dose in asking.doses if dose.held]
    template = DOSE
    if held:
        template = HELD_DOSE
    elif asking.check_ins:
        template = CHECK_IN_AND_DOSE if asking.doses else CHECK_IN
    doses = held or asking.doses
    words = {"doses": ", ".join(_dose_words(dose, several=len(plans) > 1) for dose in doses)}
    if held:
        words["until"] = clock_of(held[0].give_until, held[0].plan)
    return fill(template, language=asking.recipient.person.language, **words_of(plans), **words)


def _dose_words(dose: Dose, *, several: bool) -> str:
    who = f"{names_of([dose.plan])}: " if several else ""
    strength = f" ({dose.strength})" if dose.strength else ""
    return f"{who}{dose.drug}{strength} {dose.amount}"


def _remind(check_in: CheckIn, *, now: dt.datetime) -> None:
    to_come = _reminders(check_in)
    number = check_in.reminders + 1
    following = to_come[number] if number < len(to_come) else None
    stepped = CheckIn.objects.filter(pk=check_in.pk, state=CheckIn.State.ASKED, reminders=check_in.reminders).update(
        reminders=number, remind_at=following
    )
    if not stepped:
        return
    plan = check_in.plan
    people = first_recipients(plan, now=now) if number == 1 else second_recipients(plan, now=now)
    for recipient in people:
        queue_to_owner(
            plan,
            recipient,
            purpose=Message.Purpose.REMINDER,
            key=f"remind:{check_in.pk}:{number}:{recipient.pk}",
            text=fill(REMINDER, language=recipient.person.language, **words_of([plan])),
            now=now,
            expires_at=check_in.answer_by,
            check_ins=[check_in],
            medium=_second_medium(recipient) if number == 1 else None,
        )


def _second_medium(recipient: Recipient) -> Message.Medium | None:
    """The other way to reach the person, where there is one: a reminder goes by the second channel."""
    both = bool(recipient.person.email) and bool(recipient.person.mobile)
    return Message.Medium.SMS if both else None
