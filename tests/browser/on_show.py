"""One of everything that has a page, made in this process's database, for the pages to be looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.test import Client

from clinic.models import Membership, Patient, Role, Staff
from clinic.services.emergency_pages import write_emergency_pages
from clinic.services.invite import Person, invite
from followup.domain.questions import QUESTIONS
from followup.domain.terms import Outcome
from followup.models import Flag, Message, Plan, Recipient, Task
from followup.services.alert_links import alert_code
from followup.services.died import record_death
from followup.services.links import path_of
from followup.services.sign_off import sign_off
from followup.services.wound_review import look_at_wound
from tests import world
from tests.browser.people import fill_in
from tests.owner_world import GOOD, answer, move_clock
from tests.web.test_strangers import a_recovery
from tests.world import at

if TYPE_CHECKING:
    from playwright.sync_api import Page

EVENING = at("18:30")
LONG = "Wilhelmina-Anastasia von und zu Hohenschwangau-Meerschweinchenhausen the Second"
ANSWERS: dict[str, dict[str, list[str]]] = {
    "calm": GOOD,
    "less": {**GOOD, "appetite": ["less"], "faeces": ["fewer"]},
    "nothing": {**GOOD, "appetite": ["none"], "last_ate_at": ["this_morning"]},
    "bleeding": {**GOOD, "wound": ["worse"], "wound.bleeding": ["steady_drip"]},
}
"""An evening's answers, from good to worst."""


class Show:
    """The records behind the pages, and where the owners' pages are."""

    def __init__(self) -> None:
        """Make them all. The clock is left wherever the last one needed it."""
        self.plan = a_recovery("elm-street")
        self.practice = self.plan.practice
        self.flag = Flag.objects.get(plan=self.plan, concern="wound")
        self.task = Task.objects.get(plan=self.plan, key="a").pk
        self.message = Message.objects.filter(plan=self.plan).earliest("pk").pk
        self.alert = alert_code(self.flag, self.staff(Role.VET), made_at=at("20:00"))
        self.home = home_of(self.plan)
        dose = self.plan.doses.order_by("at", "pk").first()
        assert dose is not None
        self.dose = f"{self.home}dose/{self.plan.pk}/{dose.pk}/"
        kinds = {asked.kind: key for key, asked in reversed(QUESTIONS.items())}
        self.questions = [*kinds.values(), "wound"]
        self._other_practice()
        self._other_recoveries()
        self.ends = {name: self._end(answers) for name, answers in ANSWERS.items()}
        write_emergency_pages(now=at("08:00"))

    def staff(self, role: Role) -> Staff:
        """Whoever has this role at the practice."""
        return world.staff(self.practice, role)

    def fill_in(self, page: Page) -> None:
        """Fill in the enrolment page and look at the plan."""
        fill_in(page, {})
        page.get_by_role("button", name="Look at the plan").click()

    def _other_practice(self) -> None:
        quiet = world.practice("quiet-street")
        self.alone = world.staff(quiet, Role.VET)
        self.of_two = world.staff(quiet, Role.NURSE, "Nora Two")
        Membership.objects.create(practice=self.practice, staff=self.of_two, role=Role.NURSE)
        somebody = Person(name="Sam Example", email="sam@example.org")
        self.invitation = invite(self.practice, person=somebody, role=Role.NURSE, now=at("07:00", day=3))

    def _other_recoveries(self) -> None:
        self.long = world.running_plan(of=world.owner(self.practice, name=f"{LONG} {LONG}"))
        Patient.objects.filter(pk=self.long.patient_id).update(name=LONG)
        self.home_of_long = home_of(self.long)
        both = world.owner(self.practice, name="Ada Field")
        for kind in ("guinea_pig", "rabbit"):
            self.home_of_two = home_of(world.running_plan(kind, of=both))
        self.quiet, self.closed = self._looked_after(), self._looked_after()
        sign_off(self.closed, staff=self.staff(Role.VET), outcome=Outcome.NONE, now=at("07:40", day=14))
        Plan.objects.filter(pk=self.closed.pk).update(closed_at=at("07:00", day=3))
        self.home_of_closed = home_of(self.closed)
        self.dead = world.running_plan(of=world.owner(self.practice))
        record_death(self.dead.patient, said_by="Robin Example", now=EVENING)
        self.home_of_dead = f"{home_of(self.dead)}died/{self.dead.pk}/"

    def _looked_after(self) -> Plan:
        plan = world.running_plan(of=world.owner(self.practice))
        for due in plan.wound_reviews.all():
            look_at_wound(due, staff=self.staff(Role.VET), found="dry", decision="go on", now=at("09:00", day=due.day))
        return plan

    def _end(self, answers: dict[str, list[str]]) -> str:
        """The last page of a check-in with these answers."""
        plan = world.running_plan(of=world.owner(self.practice))
        move_clock(EVENING)
        home, session = home_of(plan), f"evening-{plan.pk}"
        answer(Client(), home, plan, answers, session=session)
        return f"{home}done/{plan.pk}/{session}/"


def home_of(plan: Plan) -> str:
    """The path of the owner's page."""
    return path_of(Recipient.objects.get(practice=plan.practice, person=plan.patient.owner))
