"""`manage.py practice`: what only whoever runs the program may do: practices, their people, hours and cover."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, ProgrammingError, transaction
from django.urls import reverse

from clinic import clock, preparing
from clinic.models import Practice, Role
from clinic.services.found_practice import NewPractice, found_practice
from clinic.services.invite import VALID_FOR, Person, invite
from clinic.services.name_provider import Provider, name_provider
from clinic.services.put_on_call import put_on_call
from clinic.services.refusals import Refused
from clinic.services.set_hours import set_dates, set_week
from clinic.services.state_of_practice import describe, missing
from followup.management import practice_words, reading
from followup.services.seed_protocols import seed_protocols

Lines = Iterable[str]


class Command(BaseCommand):
    """One sub-command for each thing; `practice COMMAND --help` tells what it takes."""

    help = "Practices, their staff, opening hours, out-of-hours cover and on-call shifts."

    def add_arguments(self, parser: CommandParser) -> None:
        """The sub-commands."""
        practice_words.take(parser)

    def handle(self, *, step: str, **typed: Any) -> None:
        """Do the one thing, wholly or not at all; a refusal is a sentence and exit code 1."""
        steps = {"add": add, "invite": take_in, "hours": hours, "closed": closed, "provider": provider}
        steps |= {"on-call": on_call, "list": show}
        try:
            with transaction.atomic():
                lines = list(steps[step](Namespace(**typed)))
        except Refused as refused:
            raise CommandError(str(refused)) from None
        except (OperationalError, ProgrammingError) as broken:
            if not any(words in str(broken) for words in ("no such table", "does not exist")):
                raise
            raise CommandError("There are no tables yet. Start the program once (make run), then try again.") from None
        for line in lines:
            self.stdout.write(line)
        preparing.keep_emergency_pages(now=clock.now())


def add(typed: Namespace) -> Lines:
    """A practice with the protocols that ship, as drafts, and an administrator to go on with."""
    now = clock.now()
    facts = {key: getattr(typed, key) for key in ("name", "phone", "address", "slug", "email", "time_zone")}
    practice = found_practice(NewPractice(**facts, jurisdiction=typed.jurisdiction), now=now)
    seed_protocols(practice, now=now)
    yield f"Founded {practice.name}. Its short name is {practice.slug}."
    yield from _invited(practice, Person(name=typed.admin_name, email=typed.admin_email), Role.ADMINISTRATOR)
    yield from _gaps(practice)


def take_in(typed: Namespace) -> Lines:
    """A person, and his one-time address."""
    person = Person(name=typed.name, email=typed.email, mobile=typed.mobile or "")
    yield from _invited(reading.practice(typed.practice), person, Role(typed.role))


def hours(typed: Namespace) -> Lines:
    """The week."""
    practice = reading.practice(typed.practice)
    set_week(practice, weekdays=typed.weekdays, hours=typed.hours)
    yield from describe(practice, now=clock.now())[:2]


def closed(typed: Namespace) -> Lines:
    """Dates that differ from it."""
    practice, last = reading.practice(typed.practice), typed.last or typed.first
    set_dates(practice, first=typed.first, last=last, hours=typed.hours, note=typed.note)
    until = f" to {last}" if last != typed.first else ""
    yield f"{practice.name}, {typed.first}{until}: {reading.as_typed(typed.hours)}."


def provider(typed: Namespace) -> Lines:
    """Who treats a species at night."""
    practice = reading.practice(typed.practice)
    who = Provider(name=typed.name, phone=typed.phone, second_phone=typed.second_phone or "", address=typed.address)
    checked_on = typed.checked or clock.now().astimezone(practice.zone).date()
    yield f"{practice.name}: {name_provider(practice, species=typed.species, provider=who, checked_on=checked_on)}."


def on_call(typed: Namespace) -> Lines:
    """Whom an emergency alerts."""
    practice = reading.practice(typed.practice)
    starts_at, ends_at = (each.replace(tzinfo=practice.zone) for each in (typed.starts_at, typed.ends_at))
    shift = put_on_call(practice, email=typed.email, starts_at=starts_at, ends_at=ends_at, position=typed.position)
    yield f"{practice.name}: {shift}."


def show(typed: Namespace) -> Lines:
    """What is set up, and what is missing."""
    chosen = [reading.practice(typed.practice)] if typed.practice else Practice.objects.order_by("slug")
    for practice in chosen:
        yield from describe(practice, now=clock.now())
        yield from _gaps(practice)
    if not chosen:
        yield "There is no practice yet. Found one: manage.py practice add NAME ..."


def _invited(practice: Practice, person: Person, role: Role) -> Lines:
    code = invite(practice, person=person, role=role, now=clock.now())
    yield (
        f"{person.name}, {role.label} at {practice.name}, chooses a password at this address, once, "
        f"within {VALID_FOR.days} days:"
    )
    yield "  " + settings.PUBLIC_URL + reverse("clinic:set-up", args=[code])


def _gaps(practice: Practice) -> Lines:
    for words in missing(practice, now=clock.now()):
        yield f"  still missing: {words}"
