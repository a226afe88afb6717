"""Pip, a boar castrated on Monday 10 March 2025, at home with the owner; and what the owner does with the link."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.test import Client

from clinic.clock import now as real_now
from clinic.models import ClockOffset, Owner, Patient, Practice, Role, Staff
from followup.models import Plan, Recipient
from followup.services.links import path_of, recipient_for
from tests import world
from tests.world import at

EVENING, BEDTIME = at("18:30"), at("20:45")
NIGHT_PHONE = "+441632960200"
"""Of the invented practice's provider for guinea pigs."""


@dataclass(frozen=True)
class Home:
    """One practice, one vet, one owner, one running plan."""

    practice: Practice
    vet: Staff
    owner: Owner
    patient: Patient
    plan: Plan
    recipient: Recipient

    @property
    def home(self) -> str:
        return path_of(self.recipient)

    def on_call(self) -> None:
        """The vet is on call without a break."""
        world.on_call(self.practice, self.vet)


def pip_at_home(slug: str = "elm-street", **changes) -> Home:
    """Discharged at 16:30; check-ins and doses as the protocol that ships has them. `changes` are of the facts."""
    practice = world.practice(slug)
    owner = world.owner(practice, name="Ada Field")
    plan = world.running_plan(where=practice, of=owner, **changes)
    recipient = recipient_for(practice, owner, now=at("16:30"))
    return Home(practice, world.staff(practice, Role.VET), owner, plan.patient, plan, recipient)


def move_clock(to: dt.datetime) -> None:
    """From here on, the doors' clock starts at `to`."""
    ClockOffset.objects.all().delete()
    ClockOffset.objects.create(offset=to - real_now())


def answer(client: Client, home: str, plan: Plan, answers: dict[str, list[str]], session: str = "one") -> list[str]:
    """Walk through the questions, giving `answers` and skipping the rest; returns the keys asked, in order."""
    asked, path = [], f"{home}ask/{plan.pk}/{session}/"
    while "/ask/" in path:
        page = client.get(path)
        if page.status_code == 302:
            break
        key = page.context["question"].key
        asked.append(key)
        given = {"answer": answers[key]} if key in answers else {"skip": "1"}
        if key in answers and page.context["question"].kind in {"words", "weight"}:
            given = {"typed": answers[key][0]}
        sent = client.post(path, {"question": key, "entry": f"{session}-{len(asked)}", **given})
        assert sent.status_code == 302, sent.content.decode()
        path = sent["Location"]
        if "/done/" in path:
            break
    return asked


GOOD = {
    "breathing": ["normal"],
    "demeanour": ["bright"],
    "appetite": ["normal"],
    "last_ate_at": ["under_2_hours"],
    "faeces": ["normal"],
    "last_faeces_at": ["under_2_hours"],
    "urine": ["normal"],
    "warmth": ["warm"],
    "wound.bleeding": ["none"],
    "wound": ["as_before_or_better"],
    "worried": ["no"],
}
