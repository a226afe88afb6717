"""Weight against the day of recovery, drawn, with the lines at which a loss is a sign; a table has the numbers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.formats import date_format

from clinic.models import Weight
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.hours import DAY
from followup.domain.observation import Observation
from followup.services.picture_axis import LEFT, RIGHT, WIDTH, Axis, DayTick

TOP, FLOOR, HEIGHT = 16, 176, 200
LABEL_APART = 13
"""Labels of two lines nearer than this are moved apart."""


@dataclass(frozen=True)
class Weighing:
    """One weighing since the operation."""

    at: dt.datetime
    grams: Decimal
    at_home: bool


@dataclass(frozen=True)
class Level:
    """A line across the picture: the weight at discharge, or one at which a loss is a sign."""

    name: str
    grams: str
    y: float
    label_y: float


@dataclass(frozen=True)
class Point:
    """One weighing in the picture. `shape`: square in the clinic, round at home."""

    x: float
    y: float
    at_home: bool


@dataclass(frozen=True)
class Row:
    """One row of the table."""

    day: int
    when: str
    where: str
    grams: str
    change: str
    level: str


@dataclass(frozen=True)
class WeightPicture:
    """Everything that the template writes down. `path` joins the weighings in their order."""

    levels: tuple[Level, ...]
    points: tuple[Point, ...]
    path: str
    days: tuple[DayTick, ...]
    height: float
    floor: float
    left: float
    right: float
    description: str
    rows: tuple[Row, ...]


def weighings(case: Case, weights: Iterable[Weight], observations: Iterable[Observation]) -> tuple[Weighing, ...]:
    """Every weighing since the operation: in the clinic, and told from home."""
    clinic = [
        Weighing(each.at, Decimal(each.grams), each.at_home) for each in weights if each.at >= case.surgery_ended_at
    ]
    home = [
        Weighing(each.at, Decimal(str(each.weight_g)), at_home=True)
        for each in observations
        if each.weight_g is not None
    ]
    return tuple(sorted([*clinic, *home], key=lambda each: each.at))


def weight_picture(case: Case, compiled: CompiledPlan, weighed: Sequence[Weighing]) -> WeightPicture:
    """The picture from the day of surgery to the sign-off, or to the last weighing where that is later."""
    base = Decimal(str(case.patient.weight_g))
    lines = _lines(compiled, base)
    last = max([compiled.sign_off_at, *(each.at for each in weighed)])
    axis = Axis(case.surgery_ended_at, last + DAY / 4)
    low, high = _span([*(grams for _, grams in lines), *(each.grams for each in weighed)])
    points = [Point(axis.x(each.at), _y(each.grams, low, high), each.at_home) for each in weighed]
    rows = tuple(_row(case, each, base, lines) for each in weighed)
    return WeightPicture(
        levels=_levels(lines, low, high),
        points=tuple(points),
        path=" ".join(f"{'L' if index else 'M'}{each.x} {each.y}" for index, each in enumerate(points)),
        days=axis.days(case),
        height=HEIGHT,
        floor=FLOOR,
        left=LEFT,
        right=WIDTH - RIGHT,
        description=_description(rows, lines),
        rows=rows,
    )


def _lines(compiled: CompiledPlan, base: Decimal) -> list[tuple[str, Decimal]]:
    """From above: discharge, monitor, urgent, emergency."""
    alerts = compiled.weight_alerts
    found: list[tuple[str, Decimal | None]] = [
        ("at discharge", base),
        ("monitor", alerts.monitor),
        ("urgent", alerts.urgent),
        ("emergency", alerts.emergency),
    ]
    return [(name, grams) for name, grams in found if grams is not None]


def _span(grams: Sequence[Decimal]) -> tuple[Decimal, Decimal]:
    """The lowest and the highest gram of the picture, with a little room."""
    low, high = min(grams), max(grams)
    room = max((high - low) / 10, Decimal(1))
    return low - room, high + room


def _y(grams: Decimal, low: Decimal, high: Decimal) -> float:
    return round(float(FLOOR - (grams - low) / (high - low) * (FLOOR - TOP)), 1)


def _levels(lines: Sequence[tuple[str, Decimal]], low: Decimal, high: Decimal) -> tuple[Level, ...]:
    found: list[Level] = []
    for name, grams in lines:
        y = _y(grams, low, high)
        above = found[-1].label_y + LABEL_APART if found else 0.0
        found.append(Level(name, f"{grams.normalize():f} g", y, round(max(y - 3, above), 1)))
    return tuple(found)


def _row(case: Case, each: Weighing, base: Decimal, lines: Sequence[tuple[str, Decimal]]) -> Row:
    change = (each.grams / base - 1) * 100
    reached = [name for name, grams in lines[1:] if each.grams <= grams]
    return Row(
        day=case.day(each.at),
        when=date_format(case.hours.local(each.at), "j M H:i"),
        where="home" if each.at_home else "clinic",
        grams=f"{each.grams.normalize():f}",
        change=f"{change:+.1f} %" if change else "0 %",
        level=reached[-1] if reached else "",
    )


def _description(rows: Sequence[Row], lines: Sequence[tuple[str, Decimal]]) -> str:
    """What the picture says, for who does not see it."""
    limits = ", ".join(f"{name} {grams.normalize():f} g" for name, grams in lines)
    if not rows:
        return f"Not weighed since the operation. Lines: {limits}."
    newest = rows[-1]
    said = f"Newest: {newest.grams} g on day {newest.day}, {newest.where}, {newest.change} against the discharge"
    return f"{said}{f', {newest.level}' if newest.level else ''}. Lines: {limits}. The table below has every weighing."
