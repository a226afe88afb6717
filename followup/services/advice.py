"""What the owner is told at a level, at this hour, for this species: the number that answers, and what happens next."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clinic.models import OnCallShift, Practice
from followup.domain.advice import (
    Answering,
    Call,
    Line,
    Moment,
    Seen,
    call_by,
    who_sees_it,
    whom_to_call,
    worse_while_asleep,
)
from followup.domain.hours import OwnerHours
from followup.domain.terms import Level, Species
from followup.models import CheckIn, Plan
from followup.services.advice_words import DISCLAIMER, HEADINGS, watch_for
from followup.services.facts import hours_of_owner
from followup.services.texts import read_aloud

WEEK = 7


@dataclass(frozen=True)
class Advice:
    """One page, or one message, of advice, in the owner's language. `phone` is E.164; empty strings are left out.

    `heading` is one call to action; `action` what to do; `what_happened` what becomes of the answer here;
    `tonight` the hour of the coming night at which it would be worse, what to look for then, and the number.
    """

    level: Level
    heading: str
    action: str
    phone: str
    phone_name: str
    second_phone: str
    address: str
    what_to_watch: tuple[str, ...]
    what_happened: str
    tonight: str
    asks_again: str
    disclaimer: str


def advice_for(plan: Plan, level: Level, *, now: dt.datetime) -> Advice:
    """The advice for `level` at `now`. Reads the practice's hours, provider and rota; writes nothing."""
    species = Species(plan.patient.species)
    hours = _hours(plan)
    moment = moment_of(plan.practice, species, now=now)
    call = (
        call_by(moment, hours, species=species, since_surgery=now - plan.surgery_ended_at)
        if level is Level.URGENT
        else whom_to_call(moment)
    )
    return Advice(
        level=level,
        heading=_heading(level, call, hours, now=now),
        action=_action(plan, level, call, moment),
        phone=call.line.phone,
        phone_name=call.line.name,
        second_phone=call.line.second_phone,
        address=call.line.address,
        what_to_watch=watch_for(plan.patient.name, species, level),
        what_happened=_what_happened(plan, who_sees_it(moment, level, by_day=_by_day(call, hours, now)), moment),
        tonight=_tonight(plan, level, hours, now=now),
        asks_again=_asks_again(plan, hours, now=now),
        disclaimer=_(DISCLAIMER),
    )


def moment_of(practice: Practice, species: Species, *, now: dt.datetime) -> Moment:
    """Who is there, who is on call and who answers for this species at `now`."""
    provider = practice.provider_for(species)
    today = practice.opening(now.astimezone(practice.zone).date())
    return Moment(
        now=now,
        practice=Line(practice.name, str(practice.phone), address=practice.address),
        provider=None
        if provider is None
        else Line(provider.name, str(provider.phone), str(provider.second_phone or ""), provider.address),
        closes=today[1] if today is not None and today[0] <= now < today[1] else None,
        opens=practice.next_opening(now),
        on_call=OnCallShift.objects.at(practice, now).exists(),
    )


def _hours(plan: Plan) -> OwnerHours:
    """From the owner's own row and not from the plan's facts: a number must answer even when those cannot be read."""
    return hours_of_owner(plan.patient.owner)


def told_time(moment: dt.datetime, hours: OwnerHours, *, now: dt.datetime) -> str:
    """ "today at 18:30", "on Thursday at 18:30" within a week ahead; else with its date. On the owner's clock."""
    local = hours.local(moment)
    ahead = (local.date() - hours.local(now).date()).days
    clock = f"{local:%H:%M}"
    if ahead == 0:
        return _("today at %(clock)s") % {"clock": clock}
    if ahead == 1:
        return _("tomorrow at %(clock)s") % {"clock": clock}
    if not 0 < ahead < WEEK:  # "on Saturday" would be read as the next one
        return _("on %(date)s at %(clock)s") % {"date": date_format(local, "l j F"), "clock": clock}
    return _("on %(weekday)s at %(clock)s") % {"weekday": WEEKDAYS[local.weekday()], "clock": clock}


def _heading(level: Level, call: Call, hours: OwnerHours, *, now: dt.datetime) -> str:
    if level is not Level.URGENT:
        return _(HEADINGS[level])
    if call.by is None:
        return _("Phone now")
    if call.waits:
        return _("Phone us when we open, by %(clock)s") % {"clock": f"{hours.local(call.by):%H:%M}"}
    return _("Phone %(time)s at the latest") % {"time": told_time(call.by, hours, now=now)}


def _action(plan: Plan, level: Level, call: Call, moment: Moment) -> str:
    opens = moment.opens.astimezone(plan.practice.zone) if moment.opens is not None else None
    words = {
        "patient": plan.patient.name,
        "who": call.line.name,
        "species": plan.patient.get_species_display(),
        "opens": f"{opens:%H:%M}" if opens is not None else "",
    }
    return action_words(level, call) % words


def action_words(level: Level, call: Call) -> str:
    """What to do, with %(patient)s, %(who)s, %(species)s and %(opens)s to be filled in."""
    if call.answering is Answering.NOBODY_KNOWN and not call.waits:
        return _(
            "We know of no vet who treats a %(species)s at this hour. Phone %(who)s and listen to what it says, "
            "or phone the nearest emergency vet."
        )
    if call.waits:
        return _("%(who)s opens at %(opens)s. If %(patient)s gets worse before then, phone the second number at once.")
    by_level = {
        Level.EMERGENCY: _("%(patient)s needs a vet now. Phone %(who)s before you travel, so that they expect you."),
        Level.URGENT: _("A vet must hear about %(patient)s today. Phone %(who)s."),
    }
    return by_level.get(level, _("If you are worried, phone %(who)s. Do not wait for us to ask."))


def _what_happened(plan: Plan, seen: Seen, moment: Moment) -> str:
    opens = moment.opens.astimezone(plan.practice.zone) if moment.opens is not None else None
    when = f"{WEEKDAYS[opens.weekday()]} {opens:%H:%M}" if opens is not None else ""
    words = {"when": when, "practice": plan.practice.name}
    said = {
        Seen.AT_ONCE: _("Your answers are on the screen at %(practice)s now."),
        Seen.ON_CALL: _("The vet on call is being alerted. Do not wait for a call: phone."),
        Seen.AT_OPENING: _("Nobody at %(practice)s can see this before %(when)s."),
        Seen.NOT_KNOWN: _("Nobody at %(practice)s can see this in the next days."),
    }
    return said[seen] % words


def _by_day(call: Call, hours: OwnerHours, now: dt.datetime) -> bool:
    """Whether an urgent case goes to whoever is on call now: no opening comes in time, and the owner can be rung."""
    return not call.waits and hours.awake(now)


def _tonight(plan: Plan, level: Level, hours: OwnerHours, *, now: dt.datetime) -> str:
    rises = worse_while_asleep(plan.look_again_at, now, hours)
    if rises is None or level is Level.EMERGENCY:
        return ""
    line = whom_to_call(moment_of(plan.practice, Species(plan.patient.species), now=rises)).line
    words = {
        "patient": plan.patient.name,
        "clock": f"{hours.local(rises):%H:%M}",
        "who": line.name,
        "phone": read_aloud(line.phone),
    }
    look = (
        _("Look at %(patient)s once more at %(clock)s.")
        if level is Level.ON_TRACK  # nothing is bad that could get better
        else _("If nothing is better by %(clock)s, get up and look at %(patient)s.")
    )
    then = _("Not eating, no droppings, dull, or bleeding? Do not wait for the morning. Phone %(who)s then: %(phone)s.")
    return f"{look} {then}" % words


def _asks_again(plan: Plan, hours: OwnerHours, *, now: dt.datetime) -> str:
    next_one = plan.check_ins.filter(state=CheckIn.State.PLANNED, at__gt=now).order_by("at", "pk").first()
    if next_one is None:
        return ""
    return _("We ask you again %(time)s.") % {"time": told_time(next_one.at, hours, now=now)}
