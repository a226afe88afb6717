"""Whom an alert goes to and by which ways: the people of the rota, else those who may decide; then the room of all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from clinic.models import Membership, OnCallShift, Practice, Role, Staff
from followup.domain.wording import Text
from followup.models import Flag, Message
from followup.services.escalate_reach import media_set_up
from followup.services.outbox import queue_to_staff
from followup.services.texts import fill, read_aloud

Medium = Message.Medium
USUAL = (Medium.EMAIL, Medium.SMS)
"""The order of ways where a shift names none."""


@dataclass(frozen=True)
class Reach:
    """One person, and the ways that he wants to be alerted by, the first one first; empty: the usual ones."""

    staff: Staff
    wanted: tuple[str, ...] = ()


def on_call(practice: Practice, now: dt.datetime) -> list[Reach]:
    """Who is on call now, in turn; each once."""
    return _each_once(Reach(shift.staff, tuple(shift.media)) for shift in OnCallShift.objects.at(practice, now))


def everyone(practice: Practice) -> list[Reach]:
    """Every vet and administrator of the practice."""
    here = Membership.objects.current().filter(practice=practice, role__in=[Role.VET, Role.ADMINISTRATOR])
    return [Reach(each.staff) for each in here.select_related("staff").order_by("pk")]


def first(person: Staff | None, others: Sequence[Reach]) -> list[Reach]:
    """`person` before all others, by the ways of his own shift if he has one."""
    if person is None:
        return list(others)
    own = next((each for each in others if each.staff == person), Reach(person))
    return _each_once([own, *others])


def alert(flag: Flag, alerted: Iterable[tuple[Reach, bool]], *, key: str, text: Text, now: dt.datetime) -> None:
    """Queue one step's alerts: to each person by his first way, or by every way that he has (True).

    "Every way" includes the practice's room, once a step. Where nobody has any other way, the room alone is left.
    """
    set_up = media_set_up(flag.plan.practice)
    to_all: Staff | None = None
    for reach, every in alerted:
        ways = _ways(reach, set_up)
        for medium in ways if every else ways[:1]:
            queue_to_staff(flag, reach.staff, key=f"{key}:{reach.staff.pk}:{medium}", text=text, now=now, medium=medium)
        if every or not ways:
            to_all = to_all or reach.staff
    if to_all is not None and Medium.CHAT in set_up:
        queue_to_staff(flag, to_all, key=f"{key}:{Medium.CHAT}", text=text, now=now, medium=Medium.CHAT)


def filled(text: Text, flag: Flag, *, now: dt.datetime, **more: str) -> Text:
    """An alert's text: who, what is wrong, whose animal it is, what he was told."""
    plan = flag.plan
    return fill(
        text,
        of=plan.practice,
        language="en",
        patient=plan.patient.name,
        species=plan.patient.get_species_display(),
        day=str(plan.day(now)),
        procedure=plan.get_procedure_display(),
        because=flag.because,
        owner=plan.patient.owner.name,
        phone=read_aloud(plan.patient.owner.phone),
        told=flag.owner_told or "nothing yet",
        **more,
    )


def _ways(reach: Reach, set_up: frozenset[str]) -> list[Medium]:
    """By what this person can be reached, in his order; what he did not ask for only where nothing else is left.

    With no way out of the building at all, everything lands in the tray and is shown on the screen.
    """
    has = [each for each in USUAL if _address(reach.staff, each)]
    out = [each for each in has if each in set_up]
    can = out if set_up else has
    wanted = [each for value in reach.wanted for each in can if each == value]
    return wanted or can


def _address(staff: Staff, medium: Medium) -> str:
    return staff.email if medium is Medium.EMAIL else str(staff.mobile or "")


def _each_once(reaches: Iterable[Reach]) -> list[Reach]:
    found: dict[int, Reach] = {}
    for each in reaches:
        found.setdefault(each.staff.pk, each)
    return list(found.values())
