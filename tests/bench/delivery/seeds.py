"""What a run begins with, made inside a process of the program; what is to be known of it is printed as JSON."""

from __future__ import annotations

import datetime as dt
import json

from django.db import connection, transaction

from clinic.models import Owner
from followup.domain.questions import SKIPPED
from followup.models import CheckIn, Message, Recipient, Reply
from followup.services.ask import ask_what_is_due
from followup.services.check_in_page import newest_due, next_key, planned_questions
from followup.services.links import path_of
from followup.services.raw_answers import one_by_one
from followup.services.reply import Incoming, answer_one
from tests.bench.delivery.sittings import turns
from tests.bench.rows import like
from tests.faults import seeds
from tests.owner_world import EVENING, GOOD, Home, pip_at_home

AT_ONCE = 1000
HOUR = dt.timedelta(hours=1)
LATER = (
    "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %s)"
    " INSERT INTO followup_message ({columns}) SELECT {values} FROM followup_message m, n WHERE m.id = %s"
)
"""Copies of one row, the same on SQLite and PostgreSQL."""


def due(many: int) -> None:
    """One message to each of so many owners, all due at once: the first by the services, the others like it."""
    seeds.messages(1, by="email")
    first = Message.objects.select_related("recipient__person").get()
    assert first.recipient is not None
    for begun in range(1, many, AT_ONCE):
        numbers = range(begun, min(begun + AT_ONCE, many))
        people = Owner.objects.bulk_create(
            like(first.recipient.person, email=f"due{number}@example.org") for number in numbers
        )
        recipients = Recipient.objects.bulk_create(
            like(first.recipient, person=person, nonce=f"due{person.pk}") for person in people
        )
        Message.objects.bulk_create(_to(each, first) for each in recipients)


def _to(recipient: Recipient, first: Message) -> Message:
    key = f"due to {recipient.pk}"
    return like(first, recipient=recipient, key=key, chain_key=key, message_id=f"<{recipient.pk}@localhost>")


def later(many: int) -> None:
    """So many messages that are due next week, all like the last; the statistics are up to date, as in a clinic."""
    last = Message.objects.latest("pk")
    at = last.not_before + 7 * 24 * HOUR
    own = {"key": "'later ' || n.i", "chain_key": "'later ' || n.i", "message_id": "'<later' || n.i || '@localhost>'"}
    times = {"due_at": at, "not_before": at, "expires_at": at + HOUR}
    names = [str(field.column) for field in Message._meta.concrete_fields if not field.primary_key]  # noqa: SLF001
    values = [own.get(name) or ("%s" if name in times else f"m.{name}") for name in names]
    given = [times[name] for name in names if name in times]
    with connection.cursor() as cursor:
        cursor.execute(LATER.format(columns=", ".join(names), values=", ".join(values)), [many, *given, last.pk])
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE followup_message")


def at_home(posts: int, *, meanwhile: int) -> None:
    """Owners for so many posts, each with a patient that is asked about now; their links, and one whole check-in.

    `meanwhile`: messages to others that are due. Made here too, since another process would enrol by the same keys.
    """
    due(meanwhile)
    home = pip_at_home()
    ask_what_is_due(now=EVENING)
    Message.objects.filter(plan=home.plan).delete()
    home.plan.refresh_from_db()
    home.plan.look_again_at = EVENING + HOUR  # what time alone changes is no part of this
    home.plan.save()
    with transaction.atomic():
        answers = _answers(home)
        transaction.set_rollback(True)
    owners = 1 + max(owner for owner, _ in turns(posts, len(answers)))
    print(json.dumps({"homes": [_like(home, number) for number in range(owners)], "answers": answers}))


def _like(home: Home, number: int) -> tuple[str, int]:
    """Another owner with another patient, all else the same: the path of the link, and the plan."""
    owner = like(home.owner, email=f"home{number}@example.org")
    owner.save()
    patient = like(home.patient, owner=owner)
    patient.save()
    plan = like(home.plan, patient=patient)
    plan.save()
    CheckIn.objects.bulk_create(like(each, plan=plan) for each in home.plan.check_ins.all())
    recipient = like(home.recipient, person=owner, nonce=f"home{number:012}")
    recipient.save()
    return path_of(recipient), plan.pk


def _answers(home: Home) -> list[tuple[str, list[str]]]:
    """Every question of the check-in in turn, with an answer that all is well."""
    given: list[tuple[str, list[str]]] = []
    reply: Reply | None = None
    key = next_key(home.plan, reply, EVENING)
    while key is not None:
        values = GOOD.get(key, [SKIPPED])
        given.append((key, values))
        begun = one_by_one(planned_questions(home.plan, reply, EVENING))
        incoming = Incoming("walk", begun, check_in=newest_due(home.plan, EVENING))
        entry = {"id": f"walk {len(given)}", "key": key, "values": values}
        step = answer_one(home.plan, incoming, entry, author=home.recipient, now=EVENING)
        reply, key = step.reply, step.next
    return given
