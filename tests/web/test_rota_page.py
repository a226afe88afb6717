"""The page of the rota: two weeks by day, holes in words, adding, swapping, taking away; dates that differ."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clinic.models import OnCallShift, OpeningException, Practice, Role, Staff
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.world import at

PAGE = "/practice/rota/"
SHIFT = {
    "step": "shift",
    "day": "2025-03-10",
    "starts": "18:30",
    "ends": "08:00",
    "position": "1",
    "ways": "email,sms",
    "weeks": "1",
}

pytestmark = pytest.mark.django_db


@pytest.fixture
def practice() -> Practice:
    move_clock(at("12:00"))
    return world.practice()


@pytest.fixture
def vet(practice: Practice) -> Staff:
    return world.staff(practice, Role.VET, "First Vet")


@pytest.fixture
def second(practice: Practice) -> Staff:
    return world.staff(practice, Role.VET, "Second Vet")


@pytest.fixture
def visitor(vet: Staff) -> Client:
    client = Client()
    client.force_login(vet)
    return client


def post(visitor: Client, person: Staff, **changes: str):
    return visitor.post(PAGE, SHIFT | {"who": str(person.pk)} | changes)


def test_a_shift_is_added_and_shown_on_both_of_its_days(visitor, vet):
    assert post(visitor, vet).status_code == 302

    page = text_of(visitor.get(PAGE))
    assert page.count("called first") == 2
    assert "from Mon 10 Mar 18:30 to Tue 11 Mar 08:00 (13 h 30 min), by e-mail, then text message" in page
    assert "still from Mon 10 Mar 18:30" in page
    assert "open 08:00 to 18:30" in page


@pytest.mark.parametrize(
    ("day", "lasts"),
    [("2025-03-29", "11 h, because the clocks go forward"), ("2025-10-25", "13 h, because the clocks go back")],
)
def test_a_shift_over_a_clock_change_says_how_long_it_really_is(visitor, vet, day, lasts):
    post(visitor, vet, day=day, starts="20:00")

    page = text_of(visitor.get(f"{PAGE}?from={day}"))
    assert f"08:00 ({lasts})" in page


def test_a_hole_is_said_in_a_sentence_and_no_night_cover_once(visitor, vet):
    assert "No night cover" in text_of(visitor.get(PAGE))
    post(visitor, vet)

    page = text_of(visitor.get(PAGE))
    assert "No night cover" not in page
    assert (
        "Nobody is on call from Tue 11 Mar 18:30 to Wed 12 Mar 08:00 (13 h 30 min): emergencies in that time go to"
        in page
    )
    assert "Nobody on call 18:30 to 24:00" in page
    assert "Nobody on call 00:00 to 08:00" in page


def test_the_morning_list_has_one_line_with_a_link(visitor, vet, practice):
    assert "Nobody is on call at night." in text_of(visitor.get("/"))
    post(visitor, vet)
    page = text_of(visitor.get("/"))
    assert (
        "Nobody is on call from Tue 11 Mar 18:30 to Wed 12 Mar 08:00, and in 10 more spans of the next 14 days." in page
    )
    assert f'href="{PAGE}"' in page
    world.on_call(practice, vet)
    assert "Nobody is on call" not in text_of(visitor.get("/"))


def test_every_week_for_some_weeks(visitor, vet):
    post(visitor, vet, weeks="4")

    assert OnCallShift.objects.count() == 4


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"who": ""}, "Choose who."),
        ({"day": "soon"}, "Write a date like"),
        ({"starts": "25:00"}, "Write a time like 20:00."),
        ({"ends": ""}, "Write a time."),
        ({"weeks": "99"}, "At most 26 weeks at once."),
        ({"weeks": "0"}, "Write 1 for this week alone."),
        ({"weeks": "x"}, "Write a number of weeks."),
        ({"last_day": "2025-03-09"}, "The shift ends before it starts."),
        ({"last_day": "2025-04-09"}, "A shift lasts a week at most."),
        ({"day": "2025-03-30", "starts": "01:30"}, "01:30 does not exist on Sunday 30 March"),
        ({"day": "2024-03-10"}, "This shift is over already."),
    ],
)
def test_bad_input_is_said_at_its_field_and_nothing_typed_is_lost(visitor, vet, changes, said):
    answer = post(visitor, vet, **changes)

    page = text_of(answer)
    assert answer.status_code == 422
    assert said in page
    assert "nothing typed is lost" in page
    assert f'value="{changes.get("starts", "18:30")}"' in page
    assert not OnCallShift.objects.exists()


def test_who_has_no_mobile_is_told_at_the_field_of_the_ways(visitor, vet):
    Staff.objects.update(mobile="")
    answer = post(visitor, vet)

    assert "No mobile number of First Vet is on record" in text_of(answer)
    assert list(answer.context["shift_form"].errors) == ["ways"]


def test_swapped_handed_over_and_taken_away(visitor, vet, second):
    post(visitor, vet)
    post(visitor, second, day="2025-03-11")
    one, other = OnCallShift.objects.order_by("starts_at")
    page = text_of(visitor.get(f"{PAGE}shifts/{one.pk}/"))
    assert "Second Vet, from Tue 11 Mar 18:30 to Wed 12 Mar 08:00" in page

    visitor.post(f"{PAGE}shifts/{one.pk}/", {"step": "hand_over", "to": f"shift:{other.pk}"})
    assert [each.staff for each in OnCallShift.objects.order_by("starts_at")] == [second, vet]
    visitor.post(f"{PAGE}shifts/{one.pk}/", {"step": "hand_over", "to": f"person:{vet.pk}"})
    assert [each.staff for each in OnCallShift.objects.order_by("starts_at")] == [vet, vet]
    visitor.post(f"{PAGE}shifts/{one.pk}/", {"step": "take_away"})
    assert list(OnCallShift.objects.all()) == [other]


@pytest.mark.parametrize("to", ["", "person:0", "shift:0", "nonsense"])
def test_a_swap_with_nobody_changes_nothing(visitor, vet, to):
    post(visitor, vet)
    (shift,) = OnCallShift.objects.all()

    assert visitor.post(f"{PAGE}shifts/{shift.pk}/", {"step": "hand_over", "to": to}).status_code == 422
    assert OnCallShift.objects.get().staff == vet


def dates(**typed: str) -> dict[str, str]:
    """What the form of dates that differ posts."""
    return {"step": "dates"} | {f"days-{name}": value for name, value in typed.items()}


def test_a_holiday_is_added_shown_and_taken_back(visitor, vet):
    visitor.post(PAGE, dates(first="2025-03-12", note="Spring fair"))
    page = text_of(visitor.get(PAGE))
    assert page.count("Spring fair") == 2
    assert "Wednesday 12 March 2025</strong> closed" in page

    visitor.post(f"{PAGE}days/{OpeningException.objects.get().pk}/")
    assert "Spring fair" not in text_of(visitor.get(PAGE))


def test_a_day_of_shorter_hours(visitor, vet):
    visitor.post(PAGE, dates(first="2025-03-12", starts="09:00", ends="12:00"))

    assert "open 09:00 to 12:00 not as in other weeks" in text_of(visitor.get(PAGE)).replace("</span> <span>", " ")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"first": ""}, "Write a date."),
        ({"first": "2025-03-12", "starts": "09:00"}, "Write both times, or neither"),
        ({"first": "2025-03-12", "starts": "12:00", "ends": "09:00"}, "cannot close at 09:00"),
        ({"first": "2025-03-12", "last": "2025-03-11"}, "Was a date mistyped?"),
        ({"first": "2025-03-09"}, "This date is over."),
    ],
)
def test_a_date_that_cannot_be_is_said_at_its_field(visitor, vet, typed, said):
    answer = visitor.post(PAGE, dates(note="kept <words>", **typed))

    assert answer.status_code == 422
    assert said in text_of(answer)
    assert "kept &lt;words&gt;" in text_of(answer)
    assert not OpeningException.objects.exists()


@pytest.mark.parametrize("role", [Role.FRONT_DESK, Role.NURSE])
def test_all_staff_look_and_only_vets_and_administrators_change(practice, vet, visitor, role):
    post(visitor, vet)
    (shift,) = OnCallShift.objects.all()
    other = Client()
    other.force_login(world.staff(practice, role))
    page = text_of(other.get(PAGE))

    assert "First Vet" in page
    assert "Put on call" not in page
    assert "Add a date" not in page
    assert post(other, vet, day="2025-03-12").status_code == 403
    assert other.post(PAGE, dates(first="2025-03-12")).status_code == 403
    assert other.post(f"{PAGE}shifts/{shift.pk}/", {"step": "take_away"}).status_code == 403
    assert (OnCallShift.objects.count(), OpeningException.objects.count()) == (1, 0)


@pytest.mark.parametrize("asked", ["", "nonsense", "0001-01-01", "9999-12-31", "2025-02-30"])
def test_a_week_that_is_none_shows_this_one(visitor, vet, asked):
    assert "Monday 10 March" in text_of(visitor.get(f"{PAGE}?from={asked}"))


def test_as_many_questions_to_the_database_for_a_full_rota_as_for_one_shift(visitor, vet, second, practice):
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert visitor.get(PAGE).status_code == 200
        return len(queries)

    post(visitor, vet)
    before = asked()
    for day in range(11, 24):
        for position, who in enumerate([vet, second], start=1):
            post(visitor, who, day=f"2025-03-{day}", position=str(position))
        OpeningException.objects.create(practice=practice, date=dt.date(2025, 4, day))

    assert OnCallShift.objects.count() == 27
    assert asked() == before <= 16
