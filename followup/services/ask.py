"""Asking what is due: one message for each person, whatever is due for however many of his patients.

A check-in or dose is taken by one conditional update in the same transaction as its messages, so it is asked once.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field

from followup.domain.reminding import is_dense, reminders
from followup.domain.terms import GRAZERS, CheckInKind, Species
from followup.domain.wording import (
    CHECK_IN,
    CHECK_IN_AND_DOSE,
    CHECK_IN_AND_DOSE_OF_SEVERAL,
    CHECK_IN_OF_SEVERAL,
    DOSE,
    HELD_DOSE,
    Text,
)
from followup.models import CheckIn, Dose, Message, Plan, Recipient
from followup.services.facts import hours_of
from followup.services.one_by_one import one_by_one
from followup.services.outbox import queue_to_owner
from followup.services.people import first_recipients
from followup.services.texts import clock_of, fill, names_of, words_of

SHARED_WITHIN = dt.timedelta(minutes=30)
"""What is this near to a check-in shares its message: a dose, and a check-in of the same people about any of their

patients. Source: clinical defaults, 7 (for check-ins the half hour is derived).
"""
ON_TIME = dt.timedelta(minutes=5)
"""Asked later than this after its time, a check-in is reminded of from when it was asked."""
MOST_OF_A_KEY = 100  # characters
MOST_AT_ONCE = 200
"""Rows of one kind in one tick; the rest is due at the next."""
WHOLE = ("plan__practice", "plan__patient__owner")


@dataclass
class Asking:
    """What the same people are asked at once."""

    recipients: Sequence[Recipient]
    check_ins: list[CheckIn] = field(default_factory=list)
    doses: list[Dose] = field(default_factory=list)

    def add(self, row: CheckIn | Dose) -> None:
        """One thing more."""
        if isinstance(row, CheckIn):
            self.check_ins.append(row)
        else:
            self.doses.append(row)

    def plans(self) -> list[Plan]:
        """The plans that it is about, each once."""
        rows: list[CheckIn | Dose] = [*self.check_ins, *self.doses]
        return list({row.plan_id: row.plan for row in rows}.values())


def ask_what_is_due(*, now: dt.datetime) -> None:
    """Check-ins whose time has come, doses too, and what of the next half hour shares a check-in's message."""
    rows: list[CheckIn | Dose] = [
        *CheckIn.objects.to_ask(now, ahead=SHARED_WITHIN).select_related(*WHOLE)[:MOST_AT_ONCE],
        *Dose.objects.to_remind(now, ahead=SHARED_WITHIN).select_related(*WHOLE)[:MOST_AT_ONCE],
    ]
    askings: dict[tuple[int, ...], Asking] = {}
    one_by_one(rows, lambda row: _sort_in(row, askings, now=now), lambda row: [row.plan], now=now)
    one_by_one(askings.values(), lambda asking: _ask(asking, now=now), Asking.plans, now=now)


def reminders_of(check_in: CheckIn, *, asked_at: dt.datetime) -> tuple[dt.datetime, ...]:
    """When to remind of it; extra questions and the outcome are not reminded of."""
    kind = CheckInKind(check_in.kind)
    if kind in {CheckInKind.EXTRA, CheckInKind.OUTCOME}:
        return ()
    grazer = Species(check_in.plan.patient.species) in GRAZERS
    dense = is_dense(check_in.day, kind, grazer=grazer)
    began = asked_at if asked_at - check_in.at > ON_TIME else check_in.at
    return reminders(began, check_in.answer_by, hours_of(check_in.plan), dense=dense)


def _sort_in(row: CheckIn | Dose, askings: dict[tuple[int, ...], Asking], *, now: dt.datetime) -> None:
    people = first_recipients(row.plan, now=now)
    askings.setdefault(tuple(sorted(each.pk for each in people)), Asking(people)).add(row)


def _ask(asking: Asking, *, now: dt.datetime) -> None:
    """Take what is still to be taken, and write to everybody. A held dose goes by itself: it is no medicine time."""
    is_time = any(each.at <= now for each in asking.check_ins)
    check_ins = [each for each in asking.check_ins if is_time and _taken(each, now=now)]
    asked = {each.plan_id for each in check_ins}
    doses = [each for each in asking.doses if _is_time(each, asked, now) and _reminded(each, now=now)]
    to_give = Asking(asking.recipients, check_ins, [each for each in doses if not each.held])
    if to_give.plans():
        _write(to_give, now=now)
    for dose in doses:
        if dose.held:
            _write(Asking(asking.recipients, doses=[dose]), now=now)


def _is_time(dose: Dose, asked: set[int], now: dt.datetime) -> bool:
    return dose.at <= now or (dose.plan_id in asked and dose.not_before <= now and not dose.held)


def _taken(check_in: CheckIn, *, now: dt.datetime) -> bool:
    """Whether it is this worker that asks."""
    to_come = reminders_of(check_in, asked_at=now)
    waiting = CheckIn.objects.filter(pk=check_in.pk, state=CheckIn.State.PLANNED)
    return waiting.update(state=CheckIn.State.ASKED, asked_at=now, remind_at=next(iter(to_come), None)) == 1


def _reminded(dose: Dose, *, now: dt.datetime) -> bool:
    return Dose.objects.filter(pk=dose.pk, reminded_at=None, state=Dose.State.PLANNED).update(reminded_at=now) == 1


def _write(asking: Asking, *, now: dt.datetime) -> None:
    plans = asking.plans()
    rows = [f"c{each.pk}" for each in asking.check_ins] + [_dose_key(each) for each in asking.doses]
    about = ",".join(str(plan.pk) for plan in plans)
    queued = [
        queue_to_owner(
            plans[0],
            recipient,
            purpose=Message.Purpose.CHECK_IN if asking.check_ins else Message.Purpose.DOSE,
            key=f"ask:{recipient.pk}:{short('-'.join(rows))}",
            text=_text(asking, plans, language=recipient.person.language),
            now=now,
            expires_at=_expiry(asking),
            check_ins=asking.check_ins,
            doses=asking.doses,
            collapse_key=f"check-in:{short(about)}" if asking.check_ins and not asking.doses else "",
        )
        for recipient in asking.recipients
    ]
    if not any(queued):
        CheckIn.objects.filter(pk__in=[each.pk for each in asking.check_ins]).update(could_not_be_asked=True)


def _dose_key(dose: Dose) -> str:
    """A held dose is asked for in other words, and once more after each time that a vet has released it."""
    return f"d{dose.pk}{'h' if dose.held else ''}{'r' * len(dose.plan.releases)}"


def short(rows: str) -> str:
    """The same text for the same rows, however many they are: it must fit into a key."""
    return rows if len(rows) <= MOST_OF_A_KEY else hashlib.sha256(rows.encode()).hexdigest()


def _expiry(asking: Asking) -> dt.datetime:
    """A check-in is worth sending until the owner sleeps, the newest of several; a dose until it counts as missed."""
    ends = [max(each.answer_by, hours_of(each.plan).next_sleep(each.at)) for each in asking.check_ins]
    return min([*([max(ends)] if ends else []), *(each.give_until for each in asking.doses)])


def _text(asking: Asking, plans: Sequence[Plan], *, language: str) -> Text:
    words = {"doses": ", ".join(_dose_words(dose, several=len(plans) > 1) for dose in asking.doses)}
    if any(dose.held for dose in asking.doses):
        template = HELD_DOSE
        words["until"] = clock_of(asking.doses[0].give_until, asking.doses[0].plan)
    elif asking.check_ins:
        template = _asks_of(plans, doses=bool(asking.doses))
    else:
        template = DOSE
    return fill(template, of=plans[0].practice, language=language, **words_of(plans), **words)


def _asks_of(plans: Sequence[Plan], *, doses: bool) -> Text:
    if len({plan.patient.name for plan in plans}) > 1:
        return CHECK_IN_AND_DOSE_OF_SEVERAL if doses else CHECK_IN_OF_SEVERAL
    return CHECK_IN_AND_DOSE if doses else CHECK_IN


def _dose_words(dose: Dose, *, several: bool) -> str:
    who = f"{names_of([dose.plan])}: " if several else ""
    strength = f" ({dose.strength})" if dose.strength else ""
    return f"{who}{dose.drug}{strength} {dose.amount}"
