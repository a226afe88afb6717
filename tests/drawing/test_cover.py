"""Where bars, gaps and marks stand. 48 h across 344 units: 7.1667 an hour, from 8 on."""

from __future__ import annotations

import datetime as dt

import pytest

from followup.domain.compiled import Gap
from followup.domain.cover import GapsLeft, Known, Piece
from followup.drawing.axis import RIGHT
from followup.drawing.cover import (
    BAR,
    FOOT,
    GAP,
    HEAD,
    LANE,
    ROOM_FOR_A_WORD,
    CoverDrawing,
    DoseSign,
    Look,
    Sign,
    ToDraw,
    draw_cover,
)
from tests.recoveries import guinea_pig

CASE = guinea_pig()
HOUR = dt.timedelta(hours=1)


def after(hours: float) -> dt.datetime:
    """So many hours after the end of surgery."""
    return CASE.surgery_ended_at + hours * HOUR


def piece(starts: float, ends: float, known: Known = Known.GIVEN, *, solid: float | None = None, drug="a") -> Piece:
    return Piece(drug, after(starts), after(ends if solid is None else solid), after(ends), known)


def drawn(*pieces: Piece, doses=(), sure=(), perhaps=(), until: float = 48, now: float = 12) -> CoverDrawing:
    gaps = GapsLeft(tuple(Gap(after(a), after(b)) for a, b in sure), tuple(Gap(after(a), after(b)) for a, b in perhaps))
    drugs = tuple(dict.fromkeys(each.drug for each in (*pieces, *doses)))
    return draw_cover(CASE, ToDraw(drugs, pieces, doses, gaps, after(until)), now=after(now))


def bars(drawing: CoverDrawing) -> list[tuple[float, float, str, bool]]:
    return [
        (bar.x, bar.width, bar.look.value, bar.sure)
        for strip in drawing.strips
        for lane in strip.lanes
        for bar in lane.bars
    ]


@pytest.mark.parametrize(
    ("known", "look", "sure"),
    [
        (Known.GIVEN, "solid", True),
        (Known.TO_COME, "to_come", True),
        (Known.UNTOLD, "perhaps", False),
        (Known.HELD, "perhaps", False),
        (Known.WRONG, "perhaps", False),
    ],
)
def test_a_piece_is_as_sure_as_what_is_known_of_it_and_so_is_its_hatched_part(known, look, sure):
    assert bars(drawn(piece(0, 24, known, solid=12))) == [(8.0, 86.0, look, sure), (94.0, 86.0, "low", sure)]


def test_a_piece_without_a_low_part_is_one_bar():
    assert bars(drawn(piece(12, 36))) == [(94.0, 172.0, "solid", True)]


def test_what_began_before_the_picture_begins_at_its_edge():
    assert bars(drawn(piece(-6, 12))) == [(8.0, 86.0, "solid", True)]


def test_lanes_stand_below_each_other_with_bars_under_their_names():
    (strip,) = drawn(piece(0, 24), piece(0, 24, drug="b")).strips
    upper, lower = strip.lanes
    assert lower.label_y - upper.label_y == LANE
    for lane in strip.lanes:
        assert lane.label_y < lane.bars[0].y
        assert lane.bars[0].y + BAR < lane.label_y - 12 + LANE
    assert lower.bars[0].y + BAR <= strip.gap_y
    assert strip.gap_y + GAP <= strip.bottom < strip.days_y


def test_a_mark_stands_on_its_bar_at_its_time():
    shown = drawn(piece(24, 48), doses=(DoseSign("a", after(24), Sign.GIVEN),))
    ((mark,), (bar,)) = shown.strips[0].lanes[0].marks, shown.strips[0].lanes[0].bars
    assert (mark.x, mark.y, mark.sign) == (180.0, bar.y + BAR / 2, Sign.GIVEN)


def test_bars_and_marks_stand_in_their_own_lane():
    shown = drawn(piece(0, 24), piece(12, 36, drug="b"), doses=(DoseSign("b", after(1), Sign.MISSED),))
    assert [(lane.drug, [bar.x for bar in lane.bars], len(lane.marks)) for lane in shown.strips[0].lanes] == [
        ("a", [8.0], 0),
        ("b", [94.0], 1),
    ]


@pytest.mark.parametrize(
    ("hours", "strip"),
    [(-12, 0), (-3, 0), (0, 0), (85.4, 0), (85.5, 1), (191.9, 1), (191.99, 1), (500, 1)],
)  # day 4 begins 85.5 h after 10:30
def test_each_dose_stands_in_exactly_one_strip(hours, strip):
    shown = drawn(piece(0, 180), doses=(DoseSign("a", after(hours), Sign.GIVEN),), until=180)
    assert [len(each.lanes[0].marks) for each in shown.strips] == [int(index == strip) for index in range(2)]


def test_a_bar_across_two_strips_goes_on_in_the_next_at_the_edge():
    shown = drawn(piece(80, 100), until=180)
    (first,), (second,) = (strip.lanes[0].bars for strip in shown.strips)
    assert first.x + first.width == RIGHT
    assert second.x == 8
    assert first.width + second.width == pytest.approx(20 / 96 * 344, abs=0.2)  # the scale is the same in each


def test_strips_stand_below_each_other():
    shown = drawn(piece(0, 180), until=180)
    tall = HEAD + LANE + GAP + FOOT
    assert shown.height == 2 * tall
    assert shown.strips[1].now_y - shown.strips[0].now_y == tall
    assert shown.strips[0].days_y < shown.strips[1].now_y - 10


def test_gaps_say_whether_they_are_sure():
    (strip,) = drawn(piece(0, 48), sure=[(12, 24)], perhaps=[(24, 36)]).strips
    assert [(box.x, box.width, box.sure, box.word_x) for box in strip.gaps] == [
        (94.0, 86.0, True, 137.0),
        (180.0, 86.0, False, 223.0),
    ]


@pytest.mark.parametrize(("hours", "width", "has_word"), [(0.1, 2.0, False), (5, 35.8, False), (5.1, 36.6, True)])
def test_a_short_gap_is_seen_and_has_a_word_only_where_there_is_room(hours, width, has_word):
    ((box,),) = [strip.gaps for strip in drawn(piece(0, 48), sure=[(12, 12 + hours)]).strips]
    assert box.width == pytest.approx(width, abs=0.1)
    assert (box.word_x is not None) is has_word is (box.width >= ROOM_FOR_A_WORD)


@pytest.mark.parametrize(("hours", "x", "anchor"), [(0, 8.0, "start"), (24, 180.0, "middle"), (47.5, 348.4, "end")])
def test_now_is_a_line_whose_word_stays_inside(hours, x, anchor):
    now = drawn(piece(0, 48), now=hours).strips[0].now
    assert now is not None
    assert (now.x, now.anchor) == (x, anchor)


@pytest.mark.parametrize("hours", [-1, 48, 300])
def test_now_outside_is_not_drawn(hours):
    assert drawn(piece(0, 48), now=hours).strips[0].now is None


def test_now_stands_in_one_strip_only():
    assert [each.now is not None for each in drawn(piece(0, 180), until=180, now=90).strips] == [False, True]


def test_the_legend_is_of_what_is_drawn():
    shown = drawn(piece(0, 24, solid=12), doses=(DoseSign("a", after(1), Sign.HELD),))
    assert shown.looks() == frozenset({Look.SOLID, Look.LOW})
    assert shown.signs() == frozenset({Sign.HELD})
