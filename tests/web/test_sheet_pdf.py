"""The sheet as PDF, read back: A4, every word of it, and nothing cut; and the page for an emergency vet."""

from __future__ import annotations

import datetime as dt
import io
import re

import pytest
from django.test import Client
from pypdf import PdfReader

from clinic.models import Role
from followup.models import Dose
from followup.services.enrol import enrol
from tests import world
from tests.owner_world import move_clock, pip_at_home
from tests.pages import text_of
from tests.web.enrol_form import client
from tests.world import at, facts

pytestmark = pytest.mark.django_db

A4 = (595.28, 841.89)
"""Points."""


@pytest.fixture(autouse=True)
def _at_discharge() -> None:
    move_clock(at("16:31"))


def read(response) -> PdfReader:
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    return PdfReader(io.BytesIO(response.content))


def sheet(plan) -> PdfReader:
    return read(client(where=plan.practice).get(f"/plans/{plan.pk}/sheet.pdf"))


def words(pdf: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pdf.pages))


def test_every_page_is_a4_and_numbered():
    pdf = sheet(world.running_plan())
    for number, page in enumerate(pdf.pages, start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4, abs=0.1)
        assert f"{number} / {len(pdf.pages)}" in page.extract_text()
    assert len(pdf.pages) == 3


def test_it_says_what_must_hold_when_every_message_fails():
    said = words(sheet(world.running_plan()))
    for each in (
        "Looking after Pip",
        "Guinea pig, 900 g. Castration, finished Monday 10 March 2025, 10:30.",
        "01632 960100",
        "01632 960200 (or 01632 960209)",
        "The bottle must say: 0.5 mg/ml",
        "0.18 ml",
        "Tue 11 Mar, 10:00",
        "Prescribed by Vet of Elm Street Clinic",
        "Another strength on the bottle? Do not give it, phone.",
        "eats nothing, or leaves no droppings, for longer than 6 hours",
        "If no message comes, look anyway",
        "until Mon 21 Apr",
        "/o/elm-street/",
        "It does not replace your vet",
        "version 1 of the plan, printed Monday 10 March 2025, 16:31",
    ):
        assert each in said, each


def test_its_calendar_has_every_day_dose_look_and_date():
    said = words(sheet(world.running_plan()))
    for day in range(15):
        assert f"{day} {('Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun')[day % 7]} {10 + day} Mar" in said
    assert said.count("☐ 10:00 0.18 ml meloxicam") == 2
    assert said.count("photo of the wound, or come in") == 2
    assert "last look: the follow-up ends" in said
    assert re.search(r"3 Thu 13 Mar ☐ 18:30 photo of the wound, or come in until today: soft, dust-free bedding", said)
    assert re.search(r"14 Mon 24 Mar ☐ 18:30 last look: the follow-up ends until today: no bath", said)


def test_its_last_page_is_for_a_vet_who_has_not_met_him():
    (page,) = [
        page.extract_text() for page in sheet(world.running_plan()).pages if "has not met" in page.extract_text()
    ]
    said = re.sub(r"\s+", " ", page)
    for each in (
        "surgery ended Mon 10 Mar 10:30",
        "Eaten: last known Mon 10 Mar 15:00; 1 h without",
        "Urine: nothing known since surgery",
        "Last NSAID: meloxicam, Mon 10 Mar 10:00",
        "meloxicam again: not before Tue 11 Mar 10:00.",
        "0.2 mg/kg (0.18 mg)",
        "to come, 1 more to Wed 12 Mar 10:00",
        "losure: not written down",
        "Cautions: none known",
        "It does not replace an examination",
    ):
        assert each in said, each


@pytest.mark.parametrize(
    ("name", "shown", "boxed"),
    [
        ("Žofka Ärmelø", "Žofka Ärmelø", False),
        ("Снежинка", "Снежинка", False),
        ("Χιόνι", "Χιόνι", False),
        ("雪", "", True),
        ("Pip 🐹", "Pip", True),
    ],
)
def test_names_in_any_script_break_nothing_and_vanish_never(name, shown, boxed):
    plan = world.running_plan()
    plan.patient.name = name
    plan.patient.save()
    said = words(sheet(plan))
    assert shown in said
    assert ("a letter that cannot be printed here" in said) == boxed


def test_a_name_that_is_written_from_right_to_left():
    plan = world.running_plan()
    plan.patient.name = "שלג"
    plan.patient.save()
    said = words(sheet(plan))
    assert any(letter in said for letter in "שלג")
    assert "cannot be printed" not in said


def test_long_names_and_seven_medicines_run_on_and_nothing_is_cut():
    course = facts()["home_medication"][0]
    others = [
        course | {"drug": drug, "mg_per_kg": mg, "mg_per_ml": strength, "every_hours": 12, "days": 14}
        for drug, mg, strength in (
            ("gabapentin", 10, 50), ("maropitant", 1, 10), ("metoclopramide", 0.5, 1), ("cisapride", 0.5, 1),
            ("enrofloxacin", 5, 25), ("vitamin c", 10, 50),
        )
    ]  # fmt: skip
    plan = world.running_plan(home_medication=[course, *others])
    plan.patient.name = "Her Serene Highness " * 9
    plan.patient.save()
    pdf = sheet(plan)
    said = words(pdf)
    for each in others:
        assert f"{each['drug']}" in said
    assert said.count("Her Serene Highness") >= 9
    assert "day 13" not in said  # a calendar, no list of days
    assert "13 Sun 23 Mar" in said
    assert "28 doses, first Mon 10 Mar, 19:00" in said
    assert len(pdf.pages) <= 9


def test_before_a_vet_there_is_no_file():
    request = world.recovery()
    del request.facts["home_medication"]
    waiting = enrol(request, staff=world.staff(request.practice, Role.NURSE), now=at("16:30"))
    answer = client(where=waiting.practice).get(f"/plans/{waiting.pk}/sheet.pdf")
    assert (answer.status_code, answer["Location"]) == (302, f"/plans/{waiting.pk}/sheet/")


def test_the_file_names_nobody():
    plan = world.running_plan()
    answer = client(where=plan.practice).get(f"/plans/{plan.pk}/sheet.pdf")
    assert answer["Content-Disposition"] == 'inline; filename="sheet.pdf"'
    assert answer["Cache-Control"] == "no-store"
    metadata = PdfReader(io.BytesIO(answer.content)).metadata
    assert metadata is None or not metadata.title


def test_the_owner_has_the_page_for_a_vet_and_can_save_it():
    pip = pip_at_home()
    Dose.objects.filter(number=1).update(state="reported", outcome="given", given_at=at("10:10", day=1))
    move_clock(at("23:00", day=1))
    phone = Client()
    page = text_of(phone.get(f"{pip.home}for-a-vet/{pip.plan.pk}/"))
    for each in (
        "meloxicam again: not before Wed 12 Mar 10:10.",
        "Tue 11 Mar 10:10",
        "0.18 ml of 0.5 mg/ml (0.09 mg, 0.1 mg/kg)",
    ):
        assert each in page, each
    assert "<title>After the operation</title>" in page
    answer = phone.get(f"{pip.home}for-a-vet/{pip.plan.pk}/file/")
    assert answer["Content-Disposition"] == 'attachment; filename="for-a-vet.pdf"'
    pdf = read(answer)
    assert len(pdf.pages) == 1
    assert "meloxicam again: not before Wed 12 Mar 10:10." in words(pdf)
    assert b"/URI" not in answer.content  # it asks the net for nothing


@pytest.mark.parametrize(
    ("state", "outcome", "said"),
    [
        ("planned", "", "Last NSAID: meloxicam, Tue 11 Mar 10:00 (a dose that nobody told of counts as given)."),
        ("reported", "refused", "Last NSAID: meloxicam, Mon 10 Mar 10:00"),
        ("reported", "vomited", "Last NSAID: meloxicam, Tue 11 Mar 10:00"),
    ],
)
def test_what_nobody_told_of_counts_as_given_for_the_next_nsaid(state, outcome, said):
    pip = pip_at_home()
    Dose.objects.filter(number=1).update(state=state, outcome=outcome)
    move_clock(at("23:00", day=1))
    assert said in text_of(Client().get(f"{pip.home}for-a-vet/{pip.plan.pk}/"))


def test_another_nsaid_waits_a_day_though_its_own_waits_half_a_day():
    twice = facts()["home_medication"][0] | {"every_hours": 12, "mg_per_kg": 0.05}
    pip = pip_at_home(home_medication=[twice])
    dose = pip.plan.doses.earliest("at")
    Dose.objects.filter(pk=dose.pk).update(state="reported", outcome="given", given_at=dose.at)
    move_clock(dose.at + dt.timedelta(hours=1))
    page = text_of(Client().get(f"{pip.home}for-a-vet/{pip.plan.pk}/"))
    assert f"{dose.at:%d %b %H:%M}" == "11 Mar 19:00"
    assert "meloxicam again: not before Wed 12 Mar 07:00. Another NSAID: not before Wed 12 Mar 19:00." in page


def test_unknown_is_said_and_never_taken_for_none():
    pip = pip_at_home(given_in_clinic=[])
    assert "No NSAID is known to have been given." in text_of(Client().get(f"{pip.home}for-a-vet/{pip.plan.pk}/"))


def test_another_animals_page_is_not_here():
    pip, other = pip_at_home(), pip_at_home("oak-lane")
    for file in ("", "file/"):
        assert Client().get(f"{pip.home}for-a-vet/{other.plan.pk}/{file}").status_code == 404
