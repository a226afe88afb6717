"""Analgesic cover over time, drawn: a bar for each painkiller at work, the gaps, and what became of each dose.

Shapes and words carry everything; colour carries nothing. The table below it says the same in numbers.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format

from followup.domain.bounds import HOUR
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan, CoverInterval, Medicine
from followup.domain.cover import Known, Piece, TakenDose, gaps_between, pieces_of
from followup.domain.late_dose import UNTOUCHED
from followup.domain.terms import DoseOutcome
from followup.models import Dose
from followup.protocols.load_formulary import formulary
from followup.services.picture_axis import Axis, DayTick

LANE, BAR, TOP = 40, 14, 4
"""Height of one painkiller's lane, of its bar, and of the space above the first."""

FOOT = 34
"""Below the lanes: the gaps' line and the days."""

KNOWN_WORDS = {Known.GIVEN: "given", Known.UNTOLD: "not told whether given", Known.TO_COME: "to come"}
MARKS = {
    DoseOutcome.GIVEN: "given",
    DoseOutcome.WENT_WRONG: "wrong",
    **dict.fromkeys((DoseOutcome.MISSED, DoseOutcome.REFUSED, DoseOutcome.SPAT_OUT, DoseOutcome.VOMITED), "not_given"),
}
LEGEND = {
    "given": "dose given",
    "not_given": "dose not given, spat out or vomited",
    "wrong": "something went wrong",
    "held": "held: a vet decides",
    "untold": "nobody told of this dose",
    "to_come": "dose to come",
}

LOOKS = {
    "solid": "at work",
    "low": "label interval; blood level is low by then (half-life 3.5 h, published, n = 6)",
    "untold": "at work if it was given",
    "to_come": "at work when it is given",
}


@dataclass(frozen=True)
class Bar:
    """One piece of a lane. `look`: solid, low (blood level is low), untold or to_come."""

    x: float
    y: float
    width: float
    look: str


@dataclass(frozen=True)
class Mark:
    """What became of one dose, at its time."""

    x: float
    y: float
    kind: str


@dataclass(frozen=True)
class Lane:
    """One painkiller."""

    drug: str
    label_y: float
    bars: tuple[Bar, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class GapBar:
    """A time in which no painkiller is at work."""

    x: float
    width: float
    label_x: float


@dataclass(frozen=True)
class Line:
    """One row of the table."""

    what: str
    starts: str
    ends: str
    known: str


@dataclass(frozen=True)
class CoverPicture:
    """Everything that the template writes down. `now_x` None: now lies outside."""

    lanes: tuple[Lane, ...]
    gaps: tuple[GapBar, ...]
    days: tuple[DayTick, ...]
    now_x: float | None
    height: float
    gap_y: float
    word_y: float
    bottom: float
    label_y: float
    legend: tuple[tuple[str, str], ...]
    looks: tuple[tuple[str, str], ...]
    description: str
    lines: tuple[Line, ...]


def cover_picture(case: Case, compiled: CompiledPlan, rows: Iterable[Dose], *, now: dt.datetime) -> CoverPicture | None:
    """The picture at `now`, from the end of surgery to the last dose plus its interval; None: no painkiller known."""
    known = {each.drug: each for each in compiled.medication}
    every = sorted((row for row in rows if row.drug in known), key=lambda row: (row.at, row.pk))
    pieces = pieces_of(case, compiled.medication, [each for row in every if (each := _taken(row, now))], formulary())
    drugs = tuple(
        dict.fromkeys([*(each.drug for each in pieces), *(row.drug for row in every if known[row.drug].is_nsaid)])
    )
    if not drugs:
        return None
    doses = [row for row in every if row.drug in drugs]
    until = max((_needed_until(row, known[row.drug]) for row in doses), default=case.surgery_ended_at)
    intervals = [CoverInterval(each.drug, each.starts, each.ends) for each in pieces]
    gaps = gaps_between(case.surgery_ended_at, intervals, until)
    axis = Axis(case.surgery_ended_at, max([until, *(each.ends for each in pieces), case.surgery_ended_at + HOUR]))
    lanes = tuple(_lane(index, drug, pieces, doses, axis, now) for index, drug in enumerate(drugs))
    bottom = TOP + LANE * len(lanes)
    kinds = {mark.kind for lane in lanes for mark in lane.marks}
    looks = {bar.look for lane in lanes for bar in lane.bars}
    return CoverPicture(
        lanes=lanes,
        gaps=tuple(_gap(axis, each.starts, each.ends) for each in gaps),
        days=axis.days(case),
        now_x=axis.x(now) if axis.holds(now) else None,
        height=bottom + FOOT,
        gap_y=bottom + 2,
        word_y=bottom + 12,
        bottom=bottom + 16,
        label_y=bottom + FOOT - 6,
        legend=tuple((kind, words) for kind, words in LEGEND.items() if kind in kinds),
        looks=tuple((look, words) for look, words in LOOKS.items() if look in looks),
        description=_description(case, pieces, [(each.starts, each.ends) for each in gaps]),
        lines=tuple(_lines(case, pieces, [(each.starts, each.ends) for each in gaps])),
    )


def _taken(row: Dose, now: dt.datetime) -> TakenDose | None:
    """A dose for the cover; None: it was told not to have been taken, or counts as missed."""
    outcome = DoseOutcome(row.outcome) if row.outcome else None
    if outcome in {*UNTOUCHED, DoseOutcome.SPAT_OUT, DoseOutcome.VOMITED}:
        return None
    if outcome is not None:
        return TakenDose(row.drug, row.given_at or row.at, Known.GIVEN)
    known = Known.TO_COME if _is_open(row, now) else Known.UNTOLD
    return TakenDose(row.drug, row.at, known)


def _needed_until(row: Dose, medicine: Medicine) -> dt.datetime:
    """A painkiller is meant to work until its interval is over, taken or not."""
    return (row.given_at or row.at) + float(medicine.every_hours or 0) * HOUR


def _is_open(row: Dose, now: dt.datetime) -> bool:
    return row.state == Dose.State.PLANNED and row.give_until > now


def _lane(  # noqa: PLR0913, PLR0917 - the parts of one lane
    index: int, drug: str, pieces: Sequence[Piece], doses: Sequence[Dose], axis: Axis, now: dt.datetime
) -> Lane:
    top = TOP + index * LANE
    y = top + 18
    return Lane(
        drug=drug,
        label_y=top + 12,
        bars=tuple(bar for each in pieces if each.drug == drug for bar in _bars(each, axis, y)),
        marks=tuple(
            Mark(axis.x(row.given_at or row.at), y + BAR / 2, _kind(row, now)) for row in doses if row.drug == drug
        ),
    )


def _bars(piece: Piece, axis: Axis, y: float) -> Iterable[Bar]:
    look = "solid" if piece.known is Known.GIVEN else piece.known.value
    yield _bar(axis, piece.starts, piece.solid_until, y, look)
    if piece.solid_until < piece.ends:
        yield _bar(axis, piece.solid_until, piece.ends, y, "low")


def _bar(axis: Axis, starts: dt.datetime, ends: dt.datetime, y: float, look: str) -> Bar:
    x = axis.x(starts)
    return Bar(x, y, round(max(axis.x(ends) - x, 1), 1), look)


def _kind(row: Dose, now: dt.datetime) -> str:
    if row.outcome:
        return MARKS[DoseOutcome(row.outcome)]
    if row.held:
        return "held"
    return "to_come" if _is_open(row, now) else "untold"


def _gap(axis: Axis, starts: dt.datetime, ends: dt.datetime) -> GapBar:
    x, right = axis.x(starts), axis.x(ends)
    return GapBar(x, round(max(right - x, 2), 1), round((x + right) / 2, 1))


def _when(case: Case, moment: dt.datetime) -> str:
    return date_format(case.hours.local(moment), "D j M H:i")


def _lines(case: Case, pieces: Sequence[Piece], gaps: Sequence[tuple[dt.datetime, dt.datetime]]) -> Iterable[Line]:
    found = [(each.starts, _line(case, each)) for each in pieces]
    found += [
        (starts, Line("no painkiller at work", _when(case, starts), _when(case, ends), "gap")) for starts, ends in gaps
    ]
    return (line for _, line in sorted(found, key=lambda each: each[0]))


def _line(case: Case, piece: Piece) -> Line:
    known = KNOWN_WORDS[piece.known]
    if piece.solid_until < piece.ends:
        known = f"{known}; blood level low from {date_format(case.hours.local(piece.solid_until), 'D H:i')}"
    return Line(piece.drug, _when(case, piece.starts), _when(case, piece.ends), known)


def _description(case: Case, pieces: Sequence[Piece], gaps: Sequence[tuple[dt.datetime, dt.datetime]]) -> str:
    """What the picture says, for who does not see it."""
    drugs = ", ".join(dict.fromkeys(each.drug for each in pieces))
    until = _when(case, max(each.ends for each in pieces))
    holes = "; ".join(f"{_when(case, starts)} to {_when(case, ends)}" for starts, ends in gaps)
    said = f"No painkiller at work: {holes}." if gaps else "No gap."
    return f"{drugs}, from the end of surgery to {until}. {said} The table below has every time."
