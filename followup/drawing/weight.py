"""Weight against the day of recovery, with the lines at which a loss is a sign, and their names beside them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from followup.domain.case import Case
from followup.domain.hours import DAY
from followup.drawing.axis import LEFT, Axis, DayTick

TOP, FLOOR, HEIGHT = 12, 176, 198
PLOT_RIGHT, NAMES_X = 228, 234
"""The curve ends left of the names of the lines, so that neither ever hides the other."""

NAMES_APART = 15
"""Names of lines nearer than this are moved apart."""


@dataclass(frozen=True)
class Weighing:
    """One weighing since the operation."""

    at: dt.datetime
    grams: Decimal
    at_home: bool


@dataclass(frozen=True)
class Limit:
    """A weight that has a line. `kind` is how it is drawn."""

    kind: str
    grams: Decimal


@dataclass(frozen=True)
class Level:
    """A line across the picture, and where its name stands."""

    kind: str
    grams: Decimal
    y: float
    name_y: float


@dataclass(frozen=True)
class Point:
    """One weighing: square in the clinic, round at home."""

    x: float
    y: float
    at_home: bool


@dataclass(frozen=True)
class WeightDrawing:
    """The whole picture. `path` joins the weighings in their order, empty for fewer than two."""

    levels: tuple[Level, ...]
    points: tuple[Point, ...]
    path: str
    days: tuple[DayTick, ...]
    height: float = HEIGHT
    floor: float = FLOOR
    left: float = LEFT
    right: float = PLOT_RIGHT
    names_x: float = NAMES_X


def draw_weight(
    case: Case, limits: Sequence[Limit], weighed: Sequence[Weighing], *, until: dt.datetime
) -> WeightDrawing:
    """From the end of surgery to `until`, or to the last weighing where that is later."""
    last = max([until, *(each.at for each in weighed)])
    axis = Axis(case.surgery_ended_at, last + DAY / 4, right=PLOT_RIGHT)
    low, high = _span([*(each.grams for each in limits), *(each.grams for each in weighed)])
    points = tuple(Point(axis.x(each.at), _y(each.grams, low, high), each.at_home) for each in weighed)
    joined = " ".join(f"{'L' if index else 'M'}{each.x} {each.y}" for index, each in enumerate(points))
    return WeightDrawing(
        levels=_levels(limits, low, high),
        points=points,
        path=joined if len(points) > 1 else "",
        days=axis.days(case),
    )


def _span(grams: Sequence[Decimal]) -> tuple[Decimal, Decimal]:
    """The lowest and the highest gram of the picture, with a little room."""
    low, high = min(grams), max(grams)
    room = max((high - low) / 10, Decimal(1))
    return low - room, high + room


def _y(grams: Decimal, low: Decimal, high: Decimal) -> float:
    return round(float(FLOOR - (grams - low) / (high - low) * (FLOOR - TOP)), 1)


def _levels(limits: Sequence[Limit], low: Decimal, high: Decimal) -> tuple[Level, ...]:
    """From above. Names keep apart: pushed down, and up again from the lower edge."""
    falling = sorted(limits, key=lambda each: each.grams, reverse=True)
    lines = [_y(each.grams, low, high) for each in falling]
    names: list[float] = []
    for y in lines:
        names.append(max(y + 4, names[-1] + NAMES_APART if names else 0.0))
    edge = float(HEIGHT - 4)
    for index in reversed(range(len(names))):
        names[index] = min(names[index], edge)
        edge = names[index] - NAMES_APART
    return tuple(
        Level(limit.kind, limit.grams, y, round(name, 1)) for limit, y, name in zip(falling, lines, names, strict=True)
    )
