"""Analgesic cover over time, for the patient's page: what is drawn, its legend, its words and the same as a table.

Shapes and words carry everything; colour carries nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.formats import date_format

from followup.domain.bounds import HOUR
from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan, Gap, Medicine
from followup.domain.cover import GapsLeft, Known, Piece, TakenDose, gaps_left, pieces_of
from followup.domain.terms import DoseOutcome
from followup.drawing.cover import CoverDrawing, DoseSign, Look, Sign, ToDraw, draw_cover
from followup.models import Dose
from followup.protocols.load_formulary import formulary

FEW = 8
"""Rows of a table that stands open; a longer one is folded."""

SIGNS = {
    DoseOutcome.GIVEN: Sign.GIVEN,
    DoseOutcome.MISSED: Sign.MISSED,
    DoseOutcome.REFUSED: Sign.REFUSED,
    DoseOutcome.SPAT_OUT: Sign.HALF,
    DoseOutcome.VOMITED: Sign.HALF,
    DoseOutcome.WENT_WRONG: Sign.WRONG,
}
COVERS = {
    Sign.GIVEN: Known.GIVEN,
    Sign.WRONG: Known.WRONG,
    Sign.HELD: Known.HELD,
    Sign.UNTOLD: Known.UNTOLD,
    Sign.TO_COME: Known.TO_COME,
}
"""What was missed or refused covers nothing, and what was spat out or vomited counts as nothing: the safe side."""

SIGN_WORDS = {
    Sign.GIVEN: "dose given",
    Sign.MISSED: "dose missed",
    Sign.REFUSED: "dose refused",
    Sign.HALF: "dose spat out or vomited: counts as not given",
    Sign.WRONG: "something went wrong with the dose",
    Sign.HELD: "dose held: a vet decides",
    Sign.UNTOLD: "nobody told of this dose",
    Sign.TO_COME: "dose to come",
}
LOOK_WORDS = {
    Look.SOLID: "at work",
    Look.LOW: "label interval; blood level is low by then (half-life 3.5 h, published, n = 6)",
    Look.PERHAPS: "perhaps at work: nobody told, held, or it went wrong",
    Look.TO_COME: "at work when the dose is given",
}
KNOWN_WORDS = {Sign.UNTOLD: "not told whether given", Sign.HELD: "held: a vet decides"}
GAP, PERHAPS_GAP = "no painkiller at work", "perhaps no painkiller at work"


@dataclass(frozen=True)
class Line:
    """One row of the table: a painkiller given or to be given, or a gap. `until` empty: it covers nothing."""

    when: str
    what: str
    known: str
    until: str


@dataclass(frozen=True)
class CoverPicture:
    """Everything that the template writes down."""

    drawing: CoverDrawing
    signs: tuple[tuple[str, str], ...]
    looks: tuple[tuple[str, str], ...]
    gap: bool
    perhaps: bool
    now: bool
    description: str
    lines: tuple[Line, ...]
    few: bool


@dataclass(frozen=True)
class _Shown:
    """One dose with what became of it."""

    row: Dose
    at: dt.datetime
    sign: Sign


def cover_picture(case: Case, compiled: CompiledPlan, rows: Iterable[Dose], *, now: dt.datetime) -> CoverPicture | None:
    """The picture at `now`, from the end of surgery to the last dose plus its interval; None: no painkiller known."""
    known = {each.drug: each for each in compiled.medication}
    every = [_shown(row, now) for row in sorted(rows, key=lambda row: (row.at, row.pk)) if row.drug in known]
    taken = [
        TakenDose(each.row.drug, each.at, COVERS[each.sign], each.row.number) for each in every if each.sign in COVERS
    ]
    pieces = pieces_of(case, compiled.medication, taken, formulary())
    named = [*(each.drug for each in pieces), *(each.row.drug for each in every if known[each.row.drug].is_nsaid)]
    drugs = tuple(dict.fromkeys(named))
    if not drugs:
        return None
    doses = [each for each in every if each.row.drug in drugs]
    ends = [*(each.ends for each in pieces), *(_needed_until(each, known[each.row.drug]) for each in doses)]
    until = max([*ends, case.surgery_ended_at + HOUR])
    gaps = gaps_left(case, pieces, until)
    signs = [DoseSign(each.row.drug, each.at, each.sign) for each in doses]
    drawing = draw_cover(case, ToDraw(drugs, pieces, signs, gaps, until), now=now)
    lines = tuple(_lines(case, pieces, doses, gaps))
    return CoverPicture(
        drawing=drawing,
        signs=tuple((sign, words) for sign, words in SIGN_WORDS.items() if sign in drawing.signs()),
        looks=tuple((look, words) for look, words in LOOK_WORDS.items() if look in drawing.looks()),
        gap=bool(gaps.sure),
        perhaps=bool(gaps.perhaps),
        now=any(strip.now for strip in drawing.strips),
        description=_description(case, drugs, gaps, until),
        lines=lines,
        few=len(lines) <= FEW,
    )


def _shown(row: Dose, now: dt.datetime) -> _Shown:
    return _Shown(row, row.given_at or row.at, _sign(row, now))


def _sign(row: Dose, now: dt.datetime) -> Sign:
    if row.outcome:
        return SIGNS[DoseOutcome(row.outcome)]
    if row.held:
        return Sign.HELD
    return Sign.TO_COME if row.state == Dose.State.PLANNED and row.give_until > now else Sign.UNTOLD


def _needed_until(dose: _Shown, medicine: Medicine) -> dt.datetime:
    """A painkiller is meant to work until its interval is over, taken or not."""
    return dose.at + float(medicine.every_hours or 0) * HOUR


def _when(case: Case, moment: dt.datetime) -> str:
    return date_format(case.hours.local(moment), "D j M H:i")


def _lines(case: Case, pieces: Sequence[Piece], doses: Sequence[_Shown], gaps: GapsLeft) -> Iterator[Line]:
    """In the order of time; a gap before the dose that ends it."""
    works = {(each.drug, each.number): each for each in pieces}
    found = [
        (each.starts, Line(_when(case, each.starts), f"{each.drug}, in the clinic", "given", _until(case, each)))
        for each in pieces
        if each.number is None
    ]
    found += [(each.at, _dose_line(case, each, works.get((each.row.drug, each.row.number)))) for each in doses]
    for several, words in ((gaps.sure, GAP), (gaps.perhaps, PERHAPS_GAP)):
        found += [
            (each.starts, Line(_when(case, each.starts), words, "gap", _when(case, each.ends))) for each in several
        ]
    return (line for _, line in sorted(found, key=lambda each: each[0]))


def _dose_line(case: Case, dose: _Shown, piece: Piece | None) -> Line:
    told = DoseOutcome(dose.row.outcome).words if dose.row.outcome else KNOWN_WORDS.get(dose.sign, "to come")
    until = _until(case, piece) if piece is not None else ""
    return Line(_when(case, dose.at), f"{dose.row.drug}, dose {dose.row.number}", told, until)


def _until(case: Case, piece: Piece) -> str:
    words = _when(case, piece.ends)
    if piece.solid_until < piece.ends:
        words += f"; blood level low from {date_format(case.hours.local(piece.solid_until), 'D H:i')}"
    return words


def _description(case: Case, drugs: Sequence[str], gaps: GapsLeft, until: dt.datetime) -> str:
    """What the picture says, for who does not see it."""
    said = f"No painkiller at work: {_spans(case, gaps.sure)}." if gaps.sure else "No gap."
    if gaps.perhaps:
        said += f" Perhaps none, if a dose that is not sure does not work: {_spans(case, gaps.perhaps)}."
    if gaps.perhaps and case.given_in_clinic is None:
        said += " What the clinic gave is not known."
    return (
        f"{', '.join(drugs)}, from the end of surgery to {_when(case, until)}. {said} The table below has every time."
    )


def _spans(case: Case, gaps: Iterable[Gap]) -> str:
    return "; ".join(f"{_when(case, each.starts)} to {_when(case, each.ends)}" for each in gaps)
