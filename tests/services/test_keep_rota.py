"""Changing the rota: what is refused, in which words and at which field; and what an emergency then does."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from clinic.models import Membership, OnCallShift, OpeningException, Practice, Role, Staff
from followup.domain.rota import Written
from followup.domain.terms import FollowUpError
from followup.models import Event
from followup.services.keep_rota import (
    NewDays,
    NewShifts,
    add_shifts,
    as_in_other_weeks,
    hand_over,
    keep_days,
    people,
    swap,
    take_away,
)
from followup.services.rota_cover import cover, cover_line
from tests import world
from tests.recoveries import clock
from tests.world import SURGERY_DAY, at

DAY = dt.timedelta(days=1)
NOW = at("12:00")

pytestmark = pytest.mark.django_db


@pytest.fixture
def practice() -> Practice:
    return world.practice()


@pytest.fixture
def first(practice: Practice) -> Staff:
    return world.staff(practice, Role.VET, "First Vet")


@pytest.fixture
def second(practice: Practice) -> Staff:
    return world.staff(practice, Role.VET, "Second Vet")


def night(day: int = 0, starts: str = "18:30", ends: str = "08:00", of: dt.date = SURGERY_DAY) -> Written:
    begins, over = dt.time.fromisoformat(starts), dt.time.fromisoformat(ends)
    return Written(of + day * DAY, begins, of + (day + (over <= begins)) * DAY, over)


def put(practice: Practice, who: Staff, written: Written, **more) -> list[OnCallShift]:
    facts: dict[str, Any] = {"position": 1, "media": ("email", "sms")} | more
    new = NewShifts(who, written, **facts)
    return add_shifts(practice, new, staff=who, now=NOW)


def refused(practice: Practice, who: Staff, written: Written, **more) -> tuple[str, str]:
    before = OnCallShift.objects.count()
    with pytest.raises(FollowUpError) as refusal:
        put(practice, who, written, **more)
    assert OnCallShift.objects.count() == before
    return refusal.value.field, str(refusal.value)


def test_a_shift_is_kept_with_its_ways_and_written_down(practice, first):
    (shift,) = put(practice, first, night(), media=("sms", "email"), position=2)

    assert (clock(shift.starts_at), clock(shift.ends_at), shift.position) == ("03-10 18:30", "03-11 08:00", 2)
    assert OnCallShift.objects.get().media == ["sms", "email"]
    event = Event.objects.get(what="rota_changed")
    assert (event.text, event.staff) == ("added: First Vet from Mon 10 Mar 18:30 to Tue 11 Mar 08:00", first)


def test_repeated_weekly_it_keeps_its_clock_times_over_a_change(practice, first):
    shifts = put(practice, first, night(12), weeks=3)

    assert [clock(each.starts_at)[-5:] for each in shifts] == ["18:30"] * 3
    assert [each.ends_at - each.starts_at for each in shifts] == [
        dt.timedelta(hours=hours) for hours in (13.5, 12.5, 13.5)
    ]


def test_of_weeks_of_which_one_cannot_be_none_is_kept(practice, first):
    """Sundays from 01:30: on the third of them the clocks go forward over it."""
    field, said = refused(practice, first, night(6, "01:30", "08:00"), weeks=4)

    assert field == "starts"
    assert said.startswith("01:30 does not exist on Sunday 30 March")


def test_who_has_no_mobile_cannot_be_reached_by_text(practice, first):
    Staff.objects.update(mobile="")
    first.refresh_from_db()

    field, said = refused(practice, first, night(), media=("email", "sms"))
    assert field == "ways"
    assert (
        said == "No mobile number of First Vet is on record, so no text message can be sent there. Choose e-mail only."
    )
    assert put(practice, first, night(), media=("email",))


@pytest.mark.parametrize("media", [("pigeon",), ("email", "email")])
def test_ways_that_are_none_are_refused(practice, first, media):
    assert refused(practice, first, night(), media=media)[0] == "ways"


def test_nobody_is_on_call_twice_at_once_and_nobody_shares_a_place(practice, first, second):
    put(practice, first, night())

    assert refused(practice, first, night(0, "22:00", "23:00"), position=2) == (
        "who",
        "First Vet is on call then already: from Mon 10 Mar 18:30 to Tue 11 Mar 08:00.",
    )
    field, said = refused(practice, second, night(0, "22:00", "23:00"))
    assert (field, said[:38]) == ("position", "First Vet has this place then already,")
    assert put(practice, second, night(0, "22:00", "23:00"), position=2)
    assert put(practice, second, night(1))  # it begins where the other has ended


def test_a_shift_that_is_over_and_too_many_weeks_are_mistyped(practice, first):
    assert refused(practice, first, night(-2))[0] == "day"
    assert refused(practice, first, night(), weeks=27)[0] == "weeks"
    assert refused(practice, first, night(), weeks=0)[0] == "weeks"


def test_a_stranger_is_not_put_on_call(practice):
    stranger = world.staff(world.practice("other-street"), Role.VET, "Stranger Vet")

    assert refused(practice, stranger, night())[0] == "who"
    assert stranger not in [each.staff for each in people(practice)]


def test_who_has_left_is_on_call_no_more_and_leaves_a_hole(practice, first):
    put(practice, first, night())
    before = cover_line(practice, now=at("19:00"))
    Membership.objects.filter(staff=first).update(active=False)

    assert not OnCallShift.objects.at(practice, at("19:00")).exists()
    assert before.startswith("Nobody is on call from Tue 11 Mar 18:30")
    assert cover_line(practice, now=at("19:00")) == "Nobody is on call at night."


def test_taken_away_swapped_and_handed_over(practice, first, second):
    (one,), (other,) = put(practice, first, night(), media=("sms",)), put(practice, second, night(1), media=("email",))
    swap(one, other, staff=first, now=NOW)

    assert [(each.staff, each.media) for each in OnCallShift.objects.order_by("starts_at")] == [
        (second, ["email"]),
        (first, ["sms"]),
    ]
    one.refresh_from_db()
    hand_over(one, first, staff=second, now=NOW)
    one.refresh_from_db()
    assert (one.staff, one.media) == (first, [])
    take_away(one, staff=first, now=NOW)
    assert OnCallShift.objects.count() == 1
    assert Event.objects.filter(what="rota_changed").count() == 5


def test_a_swap_that_puts_somebody_on_call_twice_is_refused(practice, first, second):
    (one,), (other,) = put(practice, first, night()), put(practice, second, night(1))
    put(practice, second, night(0, "20:00", "22:00"), position=2)

    with pytest.raises(FollowUpError, match="Second Vet is on call then already") as refusal:
        swap(one, other, staff=first, now=NOW)
    assert refusal.value.field == "to"
    with pytest.raises(FollowUpError, match="Second Vet is on call then already"):
        hand_over(one, second, staff=first, now=NOW)
    with pytest.raises(FollowUpError, match="somebody else"):
        swap(one, one, staff=first, now=NOW)
    stranger = world.staff(world.practice("other-street"), Role.VET, "Stranger Vet")
    with pytest.raises(FollowUpError, match="does not work here"):
        hand_over(one, stranger, staff=first, now=NOW)


def test_a_holiday_makes_a_hole_and_is_taken_back(practice, first):
    put(practice, first, night(), weeks=1)
    wednesday = SURGERY_DAY + 2 * DAY
    keep_days(practice, NewDays(wednesday, wednesday, None, "Spring fair"), staff=first, now=NOW)
    practice = Practice.objects.get(pk=practice.pk)

    assert any("from Tue 11 Mar 18:30 to Thu 13 Mar 08:00" in each for each in cover(practice, now=NOW).holes)
    as_in_other_weeks(OpeningException.objects.get(), staff=first, now=NOW)
    practice = Practice.objects.get(pk=practice.pk)
    assert not any("to Thu 13 Mar 08:00 (37" in each for each in cover(practice, now=NOW).holes)
    assert Event.objects.filter(what="days_changed").count() == 2


@pytest.mark.parametrize(
    ("days", "field"),
    [
        (NewDays(SURGERY_DAY - DAY, SURGERY_DAY - DAY, None, ""), "first"),
        (NewDays(SURGERY_DAY + 3 * DAY, SURGERY_DAY + 2 * DAY, None, ""), "last"),
        (NewDays(SURGERY_DAY + DAY, SURGERY_DAY + 90 * DAY, None, ""), "last"),
        (NewDays(SURGERY_DAY + DAY, SURGERY_DAY + DAY, (dt.time(12), dt.time(9)), ""), "ends"),
    ],
)
def test_dates_that_cannot_be_are_refused_at_their_field(practice, first, days, field):
    with pytest.raises(FollowUpError) as refusal:
        keep_days(practice, days, staff=first, now=NOW)
    assert refusal.value.field == field
    assert not OpeningException.objects.exists()


# --- what is said ------------------------------------------------------------------------------


def test_a_hole_is_one_clear_sentence(practice, first):
    put(practice, first, night(), weeks=1)
    put(practice, first, night(1), weeks=1)
    holes = cover(practice, now=NOW).holes

    assert holes[0] == (
        "Nobody is on call from Wed 12 Mar 18:30 to Thu 13 Mar 08:00 (13 h 30 min): emergencies in that time go to "
        "every vet and administrator, and owners are told to phone Night vets for guinea pigs, 01632 960200 (guinea "
        "pig); Night vets for rabbits, 01632 960201 (rabbit); or the nearest emergency vet (cat, dog, ferret, rat: "
        "nobody is named here who treats them)."
    )


@pytest.mark.parametrize(
    ("month", "said"),
    [
        (dt.date(2025, 3, 28), "from Sat 29 Mar 12:00 to Mon 31 Mar 08:00 (43 h, because the clocks go forward)"),
        (dt.date(2025, 10, 24), "from Sat 25 Oct 12:00 to Mon 27 Oct 08:00 (45 h, because the clocks go back)"),
    ],
)
def test_a_hole_over_a_clock_change_says_its_real_length(practice, first, month, said):
    world.on_call(practice, first)
    OnCallShift.objects.update(starts_at=at("18:30", of=month), ends_at=at("23:00", of=month))

    assert any(said in each for each in cover(practice, now=at("12:00", of=month)).holes)


def test_no_night_cover_is_said_once_in_words(practice):
    found = cover(practice, now=NOW)

    assert found.no_nights.startswith("Nobody is on call at night. Owners are never told that a vet was alerted then")
    assert "Night vets for guinea pigs, 01632 960200 (guinea pig)" in found.no_nights
    assert found.holes[0] == "from Mon 10 Mar 18:30 to Tue 11 Mar 08:00"
    assert cover_line(practice, now=NOW) == "Nobody is on call at night."


def test_with_somebody_always_on_call_nothing_is_said(practice, first):
    world.on_call(practice, first)

    assert (cover(practice, now=NOW).holes, cover_line(practice, now=NOW)) == ((), "")
