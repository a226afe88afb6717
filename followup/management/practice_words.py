"""The words that `manage.py practice` understands."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from clinic.models import Role
from clinic.models.practice import JURISDICTIONS, SPECIES
from followup.management import reading


def take(parser: CommandParser) -> None:
    """Add every sub-command. A wrong word is answered with the words there are."""
    steps = parser.add_subparsers(dest="step", required=True, metavar="COMMAND")
    _add(steps)
    _invite(steps)
    _hours(steps)
    _cover(steps)
    every = steps.add_parser("list", help="what is set up, and what is missing")
    every.add_argument("practice", metavar="SLUG", nargs="?")


def _add(steps: Any) -> None:
    add = steps.add_parser("add", help="found a practice, with its first administrator")
    add.add_argument("name", help="as owners know it")
    add.add_argument("--phone", required=True, type=reading.phone)
    add.add_argument("--address", required=True)
    add.add_argument("--slug", default="", help="short name in links; made of the name unless given")
    add.add_argument("--email", default="")
    add.add_argument("--time-zone", default="Europe/London")
    add.add_argument("--jurisdiction", choices=[word for word, _ in JURISDICTIONS], default="eu_uk")
    add.add_argument("--admin-name", required=True, help="the first administrator")
    add.add_argument("--admin-email", required=True)


def _invite(steps: Any) -> None:
    person = steps.add_parser("invite", help="take a member of staff in, or make a new one-time address")
    person.add_argument("practice", metavar="SLUG")
    person.add_argument("--name", required=True)
    person.add_argument("--email", required=True)
    person.add_argument("--role", required=True, choices=Role.values)
    person.add_argument("--mobile", type=reading.phone, help="where alerts go")


def _hours(steps: Any) -> None:
    week = steps.add_parser("hours", help="opening hours of weekdays")
    week.add_argument("practice", metavar="SLUG")
    week.add_argument("weekdays", type=reading.weekdays, help="mon-fri, sat, or mon,wed")
    week.add_argument("hours", type=reading.hours, help="08:00-18:30, or closed")

    closed = steps.add_parser("closed", help="dates that differ from the week")
    closed.add_argument("practice", metavar="SLUG")
    closed.add_argument("first", type=reading.date, help="2025-12-24")
    closed.add_argument("last", type=reading.date, nargs="?", help="the last date, when there are several")
    closed.add_argument("--hours", type=reading.hours, help="open, but at these hours: 09:00-12:00")
    closed.add_argument("--note", default="")


def _cover(steps: Any) -> None:
    cover = steps.add_parser("provider", help="who treats a species when the practice is closed")
    cover.add_argument("practice", metavar="SLUG")
    cover.add_argument("species", choices=[word for word, _ in SPECIES])
    cover.add_argument("--name", required=True)
    cover.add_argument("--phone", required=True, type=reading.phone)
    cover.add_argument("--second-phone", type=reading.phone)
    cover.add_argument("--address", required=True)
    cover.add_argument("--checked", type=reading.date, help="when they last said so; today unless given")

    shift = steps.add_parser("on-call", help="whom an emergency alerts, from when to when")
    shift.add_argument("practice", metavar="SLUG")
    shift.add_argument("email")
    shift.add_argument("starts_at", type=reading.moment, help="'2025-12-24 18:30', on the practice's clock")
    shift.add_argument("ends_at", type=reading.moment)
    shift.add_argument("--position", type=int, default=1, help="1 is alerted first")
