"""Analgesic cover over time: bars for what is at work, a row for the gaps, a mark for what became of each dose.

A long course stands in strips below each other, so that on a telephone a mark never hides what its dose covers.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from followup.domain.case import Case
from followup.domain.compiled import Gap
from followup.domain.cover import GapsLeft, Known, Piece
from followup.drawing.axis import LEFT, RIGHT, Axis, DayTick, strips

HEAD, LANE, BAR, GAP, FOOT = 16, 38, 14, 14, 26
"""Heights: the word above a strip, a painkiller's lane, its bar, the gaps' boxes, and the days with some air below."""

ROOM_FOR_A_WORD = 36
NEAR_THE_EDGE = 16


class Look(StrEnum):
    """How a piece of a bar is drawn."""

    SOLID = "solid"
    LOW = "low"
    PERHAPS = "perhaps"
    TO_COME = "to_come"


LOOKS = {Known.GIVEN: Look.SOLID, Known.TO_COME: Look.TO_COME}
"""Anything else is not sure."""


class Sign(StrEnum):
    """What became of a dose, each a shape of its own."""

    GIVEN = "given"
    MISSED = "missed"
    REFUSED = "refused"
    HALF = "half"
    WRONG = "wrong"
    HELD = "held"
    UNTOLD = "untold"
    TO_COME = "to_come"


@dataclass(frozen=True)
class DoseSign:
    """One dose at home, when it was given or is to be."""

    drug: str
    at: dt.datetime
    sign: Sign


@dataclass(frozen=True)
class Bar:
    """One piece of a lane. `sure` false: of a dose of which nobody knows whether it was given as meant."""

    x: float
    y: float
    width: float
    look: Look
    sure: bool


@dataclass(frozen=True)
class Mark:
    """One dose, at its time."""

    x: float
    y: float
    sign: Sign


@dataclass(frozen=True)
class Lane:
    """One painkiller."""

    drug: str
    label_y: float
    bars: tuple[Bar, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class GapBox:
    """A time in which no painkiller is at work. `sure` false: only if an unsure dose does not work.

    `word_x` None: too narrow for a word.
    """

    x: float
    width: float
    sure: bool
    word_x: float | None


@dataclass(frozen=True)
class NowLine:
    """The present, with its word held inside the picture."""

    x: float
    anchor: str


@dataclass(frozen=True)
class Strip:
    """Some days: the word "now" at `now_y`, rules from `rules_y` to `bottom`, the gaps' boxes, the days' numbers."""

    now_y: float
    rules_y: float
    gap_y: float
    gap_word_y: float
    bottom: float
    days_y: float
    lanes: tuple[Lane, ...]
    gaps: tuple[GapBox, ...]
    days: tuple[DayTick, ...]
    now: NowLine | None


@dataclass(frozen=True)
class CoverDrawing:
    """The whole picture."""

    height: float
    strips: tuple[Strip, ...]

    def signs(self) -> frozenset[Sign]:
        """The marks that it has."""
        return frozenset(mark.sign for strip in self.strips for lane in strip.lanes for mark in lane.marks)

    def looks(self) -> frozenset[Look]:
        """The kinds of bar that it has."""
        return frozenset(bar.look for strip in self.strips for lane in strip.lanes for bar in lane.bars)


@dataclass(frozen=True)
class ToDraw:
    """What is known, to `until`. `drugs`: the lanes, from above."""

    drugs: Sequence[str]
    pieces: Sequence[Piece]
    doses: Sequence[DoseSign]
    gaps: GapsLeft
    until: dt.datetime


def draw_cover(case: Case, what: ToDraw, *, now: dt.datetime) -> CoverDrawing:
    """From the end of surgery to `until`, which is later."""
    axes = strips(case, case.surgery_ended_at, what.until)
    tall = HEAD + LANE * len(what.drugs) + GAP + FOOT
    return CoverDrawing(
        height=tall * len(axes),
        strips=tuple(
            _strip(case, what, axis, index * tall, _doses_in(what.doses, axis, axes), now)
            for index, axis in enumerate(axes)
        ),
    )


def _doses_in(doses: Iterable[DoseSign], axis: Axis, axes: Sequence[Axis]) -> list[DoseSign]:
    """Each dose in one strip: one before the first in the first, one after the last in the last."""
    first, last = axis is axes[0], axis is axes[-1]
    return [
        each
        for each in doses
        if axis.holds(each.at) or (first and each.at < axis.starts) or (last and each.at >= axis.ends)
    ]


def _strip(  # noqa: PLR0913, PLR0917 - the parts of one strip
    case: Case, what: ToDraw, axis: Axis, top: float, doses: Sequence[DoseSign], now: dt.datetime
) -> Strip:
    below = top + HEAD + LANE * len(what.drugs)
    return Strip(
        now_y=top + 11,
        rules_y=top + HEAD - 1,
        gap_y=below,
        gap_word_y=below + 11,
        bottom=below + GAP + 2,
        days_y=below + GAP + 15,
        lanes=tuple(
            _lane(drug, what.pieces, doses, axis, top + HEAD + LANE * index) for index, drug in enumerate(what.drugs)
        ),
        gaps=tuple(_gaps(what.gaps, axis)),
        days=axis.days(case),
        now=_now(axis.x(now)) if axis.holds(now) else None,
    )


def _lane(drug: str, pieces: Iterable[Piece], doses: Iterable[DoseSign], axis: Axis, top: float) -> Lane:
    y = top + LANE - BAR - 6
    return Lane(
        drug=drug,
        label_y=top + 12,
        bars=tuple(bar for each in pieces if each.drug == drug for bar in _bars(each, axis, y)),
        marks=tuple(Mark(axis.x(each.at), y + BAR / 2, each.sign) for each in doses if each.drug == drug),
    )


def _bars(piece: Piece, axis: Axis, y: float) -> Iterator[Bar]:
    look = LOOKS.get(piece.known, Look.PERHAPS)
    parts = [(look, piece.starts, piece.solid_until), (Look.LOW, piece.solid_until, piece.ends)]
    for each, starts, ends in parts:
        found = axis.part(starts, ends) if starts < ends else None
        if found is not None:
            yield Bar(found[0], y, found[1], each, sure=look is not Look.PERHAPS)


def _gaps(left: GapsLeft, axis: Axis) -> Iterator[GapBox]:
    for gaps, sure in ((left.sure, True), (left.perhaps, False)):
        yield from (box for each in gaps if (box := _gap(each, axis, sure=sure)))


def _gap(gap: Gap, axis: Axis, *, sure: bool) -> GapBox | None:
    found = axis.part(gap.starts, gap.ends)
    if found is None:
        return None
    x, width = found[0], max(found[1], 2.0)
    return GapBox(x, width, sure, round(x + width / 2, 1) if width >= ROOM_FOR_A_WORD else None)


def _now(x: float) -> NowLine:
    if x < LEFT + NEAR_THE_EDGE:
        return NowLine(x, "start")
    return NowLine(x, "end" if x > RIGHT - NEAR_THE_EDGE else "middle")
