"""The demo's practice with everything that has a page, served in this process by a real server."""

from __future__ import annotations

import datetime as dt
import io
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import waitress.server
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application

from clinic.clock import now as clock_now
from clinic.models import Membership, Patient, Practice, Role, Staff
from clinic.services.emergency_pages import write_emergency_pages
from clinic.services.invite import Person, invite
from followup.domain.terms import Level, Outcome
from followup.models import Flag, Heartbeat, Notice, Plan, ProtocolVersion, Recipient, Task
from followup.services.admit import admit
from followup.services.alert_links import alert_code
from followup.services.demo import fill
from followup.services.died import record_death
from followup.services.dispatch import send_due
from followup.services.escalate import acknowledge, record_outcome
from followup.services.links import path_of, recipient_for
from followup.services.raw_answers import one_by_one, together
from followup.services.reply import Incoming, answer_one, take_note, take_reply
from followup.services.review import Looked, review
from followup.services.revise import Revision, revise
from followup.services.sign_off import sign_off
from followup.services.tick import tick
from tests import world
from tests.browser.pages.long_words import long_practice
from tests.owner_world import GOOD, move_clock
from tests.world import LONDON

MORNING = dt.datetime(2026, 11, 25, 7, 40, tzinfo=LONDON)
"""A Wednesday; the practice opens at 8."""
EVENING = dt.datetime(2026, 11, 25, 18, 40, tzinfo=LONDON)
"""Biscuit and Crumpet of one owner are due."""
TOLD = dt.datetime(2026, 11, 25, 19, 0, tzinfo=LONDON)
"""Biscuit is well; of Crumpet the first answer is an emergency, and the rest is not told yet."""
NIGHT = dt.datetime(2026, 11, 26, 3, 0, tzinfo=LONDON)
MONTH_ON = dt.datetime(2026, 12, 11, 19, 0, tzinfo=LONDON)
"""Thirty days after Clover's operation: her follow-up has ended."""
ON_THE_WAY = [MORNING + dt.timedelta(hours=hours) for hours in (4, 8, 11, 12, 14, 15, 17)]
POOR = {"appetite": ["none"], "faeces": ["none"], "demeanour": ["collapsed"], "worried": ["very"]}


class ClinicSite:
    """Where it answers, and how its pages are found. Every question is put to the database anew."""

    def __init__(self, address: str, code: str) -> None:
        """`code`: of a set-up address that nobody has used."""
        self.address, self.code, self.moment = address, code, MORNING

    def be_at(self, moment: dt.datetime) -> None:
        """Move the clock on, with some ticks on its way: every one would take half a minute. It never goes back."""
        if moment > self.moment:
            if self.moment == MORNING:
                _before_the_night()
            for some in (*(each for each in ON_THE_WAY if self.moment < each < moment), moment):
                tick(now=some, moved_on=some - MORNING)  # moved on by hand: no outage
            if self.moment < TOLD <= moment:
                _both_told()
            self.moment = moment
        move_clock(self.moment)
        Heartbeat.objects.beat("tick", self.moment)  # a page is looked at, not the time that looking takes

    @staticmethod
    def plan(patient: str) -> Plan:
        """The patient's follow-up."""
        return Plan.objects.get(patient__name=patient)

    @staticmethod
    def flag(patient: str, **which: object) -> Flag:
        """The patient's worst flag, of those."""
        return Flag.objects.filter(plan__patient__name=patient, **which).order_by("-worst", "pk")[0]

    @staticmethod
    def task(**which: object) -> Task:
        """The first task of that kind."""
        return Task.objects.filter(**which).order_by("pk")[0]

    def alert(self, patient: str, *, older_by: dt.timedelta = dt.timedelta(0)) -> str:
        """The code of an alert about the patient to the first vet on call."""
        flag = self.flag(patient)
        vet = Membership.objects.filter(practice=flag.practice, role=Role.VET).order_by("pk")[0].staff
        return alert_code(flag, vet, made_at=self.moment - older_by)

    def home(self, patient: str) -> str:
        """The path of the page of this patient's owner."""
        plan = self.plan(patient)
        return path_of(recipient_for(plan.practice, plan.patient.owner, now=self.moment))

    def asking(self, patient: str, page: str, session: str) -> str:
        """The path of one page about this patient at his owner's address."""
        return f"{self.home(patient)}{page}/{self.plan(patient).pk}/{session}/"


@contextmanager
def running() -> Iterator[ClinicSite]:
    """Fill the test database, serve it, and empty it again. The caller has unblocked the database."""
    fill(now=MORNING)
    code = _everything_else()
    server = waitress.server.create_server(get_wsgi_application(), host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        yield ClinicSite(f"http://127.0.0.1:{server.effective_port}", code)
    finally:
        server.close()
        server.task_dispatcher.shutdown()
        thread.join(10)
        call_command("flush", interactive=False, verbosity=0, stdout=io.StringIO())


def _everything_else() -> str:
    """What the demo's own fortnight has not brought about; returns the code of a set-up address."""
    quillbrook, sallow = Practice.objects.order_by("pk")
    second = Staff.objects.get(email="second.vet@quillbrook.example.org")
    Membership.objects.create(practice=sallow, staff=second, role=Role.VET)
    _said("Biscuit", GOOD)
    _said("Pickle", POOR)
    _said("Willow", POOR)
    for patient in ("Pickle", "Willow"):
        acknowledge(_emergency(patient), staff=second, now=MORNING)
    record_outcome(
        _emergency("Willow"), staff=second, outcome=Flag.Outcome.SENT_TO, note="Fellside Night Vets", now=MORNING
    )
    vet = Staff.objects.get(email="vet@quillbrook.example.org")
    admit(ClinicSite.plan("Willow"), staff=vet, why="Bleeding, in our ward.", now=MORNING)
    _changed(vet)
    _began("Crumpet")
    _wrote("Crumpet", "May he have hay from the garden?")
    _wrote("Hazel", "Hazel died in the night.")
    record_death(ClinicSite.plan("Nutmeg").patient, said_by="Fern Dacey", now=MORNING)
    long_practice(MORNING)
    _cannot_be_weighed(quillbrook)
    _reviewed(quillbrook, vet)
    _without_anybody_on_call(quillbrook)
    write_emergency_pages(now=MORNING)
    send_due(now=MORNING)
    move_clock(MORNING)
    return invite(quillbrook, person=Person("Nora Example", "nora@example.org"), role=Role.NURSE, now=clock_now())


def _at_home(practice: Practice, name: str) -> Plan:
    """One more guinea pig, operated on the day before."""
    plan = world.running_plan(where=practice, day=MORNING.date() - dt.timedelta(days=1), now=MORNING)
    Patient.objects.filter(pk=plan.patient_id).update(name=name)
    return ClinicSite.plan(name)


def _without_anybody_on_call(practice: Practice) -> None:
    """In the night nobody could see what Teasel's owner said, so he is asked on waking whether he reached a vet."""
    _at_home(practice, "Teasel")
    _said("Teasel", POOR)
    Notice.objects.create(practice=practice, plan=ClinicSite.plan("Teasel"), kind="reached_vet", at=MORNING)


def _cannot_be_weighed(practice: Practice) -> None:
    """Quince's copy of the protocol is spoilt, and then his owner answers."""
    plan = _at_home(practice, "Quince")
    spoilt = {"version": plan.protocol.version + 1, "text": "[[answer]\nrule ="}
    plan.protocol = ProtocolVersion.objects.create(practice=practice, name=plan.protocol.name, **spoilt)
    plan.save()
    _said("Quince", GOOD)


def _reviewed(practice: Practice, vet: Staff) -> None:
    """Five flags of Sorrel, each judged by a vet."""
    plan, author = _writer(_at_home(practice, "Sorrel").patient.name)
    judged = (Level.URGENT, Level.EMERGENCY, Level.MONITOR, Level.ON_TRACK, Level.URGENT)
    for number, really in enumerate(judged):
        now = MORNING - dt.timedelta(minutes=60 - 10 * number)
        raw = together({"appetite": ["normal"], "faeces": ["normal"], "worried": ["very"]})
        take_reply(plan, Incoming(f"sorrel-{number}", raw), author=author, now=now)
        looked = Looked("bright on the phone", "told what to watch", really=really)
        review(plan.flags.open().get(concern="worry"), looked, staff=vet, now=now + dt.timedelta(minutes=5))


def _before_the_night() -> None:
    clover = ClinicSite.plan("Clover")
    vet = Staff.objects.get(email="vet@quillbrook.example.org")
    sign_off(clover, staff=vet, outcome=Outcome.NONE, now=MORNING)


def _both_told() -> None:
    """A round named `told`, and one named `well` in which nothing worries us."""
    for round_, crumpet in (("well", GOOD), ("told", {"breathing": ["laboured"]})):
        for patient, answers in (("Biscuit", GOOD), ("Crumpet", crumpet)):
            plan, author = _writer(patient)
            incoming = Incoming(f"{round_}-{plan.pk}", one_by_one(dict.fromkeys((*crumpet, *GOOD))))
            for key, values in answers.items():
                entry = {"id": f"{round_}-{key}", "key": key, "values": values}
                answer_one(plan, incoming, entry, author=author, now=TOLD)


def _changed(vet: Staff) -> None:
    """Bramble was weighed anew, and gets his medicine for longer: three versions. Biscuit gets a new one, due now."""
    bramble, biscuit = ClinicSite.plan("Bramble"), ClinicSite.plan("Biscuit")
    weighed = Revision("Weighed at the recheck.", bramble.version, {"meloxicam": None}, weight_g=2300)
    revise(bramble, weighed, staff=vet, now=MORNING)
    revise(bramble, Revision("Still sore.", bramble.version, {"meloxicam": 3}), staff=vet, now=MORNING)
    new = {"drug": "metoclopramide", "mg_per_kg": 0.5, "every_hours": 12, "days": 3, "mg_per_ml": 1}
    revise(biscuit, Revision("Slow gut.", biscuit.version, {}, (new,)), staff=vet, now=MORNING - dt.timedelta(hours=1))


def _emergency(patient: str) -> Flag:
    return ClinicSite.flag(patient, state=Flag.State.OPEN)


def _writer(patient: str) -> tuple[Plan, Recipient]:
    plan = ClinicSite.plan(patient)
    return plan, recipient_for(plan.practice, plan.patient.owner, now=MORNING)


def _said(patient: str, answers: dict[str, list[str]]) -> None:
    """These answers, one by one, of as many questions; kept under a session named `told` and the patient."""
    plan, author = _writer(patient)
    incoming = Incoming(f"told-{patient}", one_by_one(answers))
    for key, values in answers.items():
        answer_one(plan, incoming, {"id": f"told-{key}", "key": key, "values": values}, author=author, now=MORNING)


def _began(patient: str) -> None:
    """One answer, and no more: the session `begun`."""
    plan, author = _writer(patient)
    raw = one_by_one(("demeanour", "appetite"))
    entry = {"id": "begun-1", "key": "demeanour", "values": ["bright"]}
    answer_one(plan, Incoming("begun", raw), entry, author=author, now=MORNING)


def _wrote(patient: str, words: str) -> None:
    plan, author = _writer(patient)
    take_note(author, Incoming(f"words about {patient}", {"note": words}, words), plan=plan, now=MORNING)
