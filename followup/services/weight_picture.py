"""Weight against the day of recovery, for the patient's page: what is drawn, its words, and the same as a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.formats import date_format

from clinic.models import Weight
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan
from followup.domain.observation import Observation
from followup.drawing.weight import Level, Limit, Weighing, WeightDrawing, draw_weight

FEW = 8
"""Rows of a table that stands open; a longer one is folded."""

AT_HOME = "home"
"""The first weight on the owner's scales, which differ from ours."""

NAMES = {AT_HOME: "1st home"}


@dataclass(frozen=True)
class Row:
    """One row of the table. `since_home` empty: weighed in the clinic, or the first at home itself."""

    day: int
    when: str
    where: str
    grams: str
    change: str
    level: str
    since_home: str


@dataclass(frozen=True)
class WeightPicture:
    """Everything that the template writes down. `levels`: each line with its name."""

    drawing: WeightDrawing
    levels: tuple[tuple[Level, str], ...]
    first_home: str
    description: str
    rows: tuple[Row, ...]
    few: bool


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
    """The picture from the end of surgery to the sign-off, or to the last weighing where that is later."""
    limits = _limits(case, compiled)
    first = next((each for each in weighed if each.at_home), None)
    beside = [] if first is None else [Limit(AT_HOME, first.grams)]
    rows = tuple(_row(case, each, limits, first) for each in weighed)
    drawing = draw_weight(case, [*limits, *beside], weighed, until=compiled.sign_off_at)
    return WeightPicture(
        drawing=drawing,
        levels=tuple((each, f"{NAMES.get(each.kind, each.kind)} {_grams(each.grams)} g") for each in drawing.levels),
        first_home="" if first is None else _grams(first.grams),
        description=_description(rows, limits, first),
        rows=rows,
        few=len(rows) <= FEW,
    )


def _limits(case: Case, compiled: CompiledPlan) -> list[Limit]:
    """From above: discharge, monitor, urgent, and emergency where the species has one."""
    alerts = compiled.weight_alerts
    found: list[tuple[str, Decimal | None]] = [
        ("discharge", Decimal(str(case.patient.weight_g))),
        ("monitor", alerts.monitor),
        ("urgent", alerts.urgent),
        ("emergency", alerts.emergency),
    ]
    return [Limit(kind, grams) for kind, grams in found if grams is not None]


def _row(case: Case, each: Weighing, limits: Sequence[Limit], first: Weighing | None) -> Row:
    reached = [limit.kind for limit in limits[1:] if each.grams <= limit.grams]
    later = first is not None and each.at_home and each is not first
    return Row(
        day=case.day(each.at),
        when=date_format(case.hours.local(each.at), "j M H:i"),
        where="home" if each.at_home else "clinic",
        grams=_grams(each.grams),
        change=_change(each.grams, limits[0].grams),
        level=reached[-1] if reached else "",
        since_home=_change(each.grams, first.grams) if later and first is not None else "",
    )


def _grams(grams: Decimal) -> str:
    return f"{grams.normalize():f}"


def _change(grams: Decimal, base: Decimal) -> str:
    """In per cent, to a tenth, with a true minus."""
    change = (grams / base - 1) * 100
    return f"{change:+.1f} %".replace("-", "\N{MINUS SIGN}") if change else "0 %"


def _description(rows: Sequence[Row], limits: Sequence[Limit], first: Weighing | None) -> str:
    """What the picture says, for who does not see it."""
    lines = ", ".join(f"{each.kind} {_grams(each.grams)} g" for each in limits)
    if not rows:
        return f"Not weighed since the operation. Lines: {lines}."
    newest = rows[-1]
    said = f"Newest: {newest.grams} g on day {newest.day}, {newest.where}, {newest.change} against the discharge"
    if newest.level:
        said += f", {newest.level}"
    if first is not None:
        said += f". First at home: {_grams(first.grams)} g"
    return f"{said}. Lines: {lines}. The table below has every weighing."
