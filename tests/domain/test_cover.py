"""What is at work against pain, and when nothing is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from followup.domain.case import GivenInClinic, Patient, Prescription
from followup.domain.compiled import CoverInterval
from followup.domain.cover import Known, Piece, cover_of, gaps_between, gaps_left
from followup.domain.terms import Formulation, HomeRoute, Species
from followup.protocols.load_formulary import formulary
from tests.recoveries import MELOXICAM_IN_CLINIC, at, clock, guinea_pig, meloxicam, plan_of, prescribed


def spans(pieces) -> list[tuple[str, str]]:
    return [(clock(each.starts), clock(each.ends)) for each in pieces]


def test_the_label_course_covers_without_a_gap():
    cover = plan_of(guinea_pig(home_medication=(meloxicam(),))).cover
    assert spans(cover.intervals) == [
        ("03-10 10:00", "03-11 10:00"),
        ("03-11 10:00", "03-12 10:00"),
        ("03-12 10:00", "03-13 10:00"),
    ]
    assert cover.gaps == ()


def test_nothing_anywhere_has_no_cover_and_no_end_to_speak_of():
    cover = plan_of(guinea_pig(given_in_clinic=(), home_medication=())).cover
    assert (cover.intervals, cover.gaps) == ((), ())


def test_a_dose_that_waits_for_waking_leaves_a_gap():
    early = replace(MELOXICAM_IN_CLINIC, at=at("2025-03-10 05:30"))
    cover = plan_of(guinea_pig(given_in_clinic=(early,), home_medication=(meloxicam(),))).cover
    assert spans(cover.gaps) == [("03-11 05:30", "03-11 07:00")]


def test_a_gap_between_the_end_of_surgery_and_the_first_dose_is_one():
    cover = plan_of(guinea_pig(given_in_clinic=(), home_medication=(meloxicam(),))).cover
    assert spans(cover.gaps) == [("03-10 10:30", "03-10 19:00")]


@pytest.mark.parametrize(
    ("species", "drug", "mg_per_kg", "formulation", "ends"),
    [
        ("guinea_pig", "buprenorphine", 0.05, "standard", "03-10 16:00"),  # 6 h
        ("dog", "buprenorphine", 0.019, "standard", "03-10 13:00"),  # 3 h below 20 ug/kg
        ("dog", "buprenorphine", 0.02, "standard", "03-10 15:00"),  # 5 h from there
        ("dog", "buprenorphine", None, "standard", "03-10 13:00"),  # not written down: the shorter
        ("cat", "buprenorphine", 0.24, "24_h", "03-11 10:00"),
        ("rat", "buprenorphine", 1, "slow_release", "03-13 10:00"),
        ("rabbit", "lidocaine", 2, "standard", "03-10 11:00"),
        ("rabbit", "bupivacaine", 1, "standard", "03-10 14:00"),
        ("rabbit", "carprofen", 4, "standard", "03-11 10:00"),
    ],
)
def test_each_clinic_drug_works_for_its_shortest_time(species, drug, mg_per_kg, formulation, ends):
    given = GivenInClinic(drug, at("2025-03-10 10:00"), mg_per_kg=mg_per_kg, formulation=Formulation(formulation))
    case = guinea_pig(patient=Patient(Species(species), 3000), given_in_clinic=(given,))
    assert [clock(each.ends) for each in cover_of(case, (), formulary()).intervals] == [ends]


def test_it_is_needed_to_the_last_dose_at_home_plus_its_interval():
    drops = Prescription(
        "buprenorphine", 8, 1, mg_per_kg=0.02, mg_per_ml=0.3, route=HomeRoute.CHEEK, off_label_explained=True
    )
    cat = guinea_pig(patient=Patient(Species.CAT, 4000), given_in_clinic=(), discharged_at=at("2025-03-11 06:00"))
    medicine = prescribed(drops, cat).medicine  # at 07:00, 14:30 and 21:00, each for 6 h and every 8
    assert spans(cover_of(cat, [medicine], formulary()).gaps) == [
        ("03-10 10:30", "03-11 07:00"),
        ("03-11 13:00", "03-11 14:30"),
        ("03-11 20:30", "03-11 21:00"),
        ("03-12 03:00", "03-12 05:00"),
    ]


def test_a_medicine_that_stills_no_pain_does_not_lengthen_what_is_needed():
    course = Prescription("enrofloxacin", 24, 7, mg_per_kg=10, mg_per_ml=25, off_label_explained=True)
    cover = plan_of(guinea_pig(home_medication=(meloxicam(), course))).cover
    assert cover.gaps == ()


def test_twice_a_day_each_dose_covers_its_12_hours():
    case = guinea_pig(given_in_clinic=(replace(MELOXICAM_IN_CLINIC, at=at("2025-03-10 09:00")),))
    cover = plan_of(replace(case, home_medication=(meloxicam(0.05, every_hours=12, days=1),))).cover
    assert spans(cover.intervals)[1:] == [("03-11 09:00", "03-11 21:00"), ("03-11 21:00", "03-12 09:00")]


def test_a_short_one_inside_a_long_one_opens_no_gap():
    day = [
        CoverInterval("buprenorphine", at("2025-03-10 10:00"), at("2025-03-13 10:00")),
        CoverInterval("lidocaine", at("2025-03-10 10:30"), at("2025-03-10 11:30")),
        CoverInterval("meloxicam", at("2025-03-13 12:00"), at("2025-03-14 12:00")),
    ]
    gaps = gaps_between(at("2025-03-10 09:00"), day)
    assert spans(gaps) == [("03-10 09:00", "03-10 10:00"), ("03-13 10:00", "03-13 12:00")]


def test_a_drug_that_stills_no_pain_covers_nothing():
    case = guinea_pig(given_in_clinic=(GivenInClinic("maropitant", at("2025-03-10 10:00")),))
    assert cover_of(case, (), formulary()).intervals == ()


def piece(starts: str, ends: str, known: Known = Known.GIVEN) -> Piece:
    begin, end = at(f"2025-03-{starts}"), at(f"2025-03-{ends}")
    return Piece("meloxicam", begin, end, end, known)


@pytest.mark.parametrize("known", [Known.UNTOLD, Known.WRONG, Known.HELD])
def test_a_dose_that_is_not_sure_leaves_a_gap_that_is_not_sure_where_nothing_else_works(known):
    pieces = [piece("10 10:00", "11 10:00"), piece("11 08:00", "12 08:00", known), piece("12 09:00", "13 09:00")]
    left = gaps_left(guinea_pig(), pieces, at("2025-03-13 09:00"))
    assert spans(left.sure) == [("03-12 08:00", "03-12 09:00")]
    assert spans(left.perhaps) == [("03-11 10:00", "03-12 08:00")]


def test_a_sure_gap_may_have_unsure_ones_on_both_sides():
    pieces = [piece("10 10:00", "11 10:00", Known.UNTOLD), piece("11 12:00", "12 12:00", Known.HELD)]
    left = gaps_left(guinea_pig(), pieces, at("2025-03-12 12:00"))
    assert spans(left.sure) == [("03-11 10:00", "03-11 12:00")]
    assert spans(left.perhaps) == [("03-10 10:30", "03-11 10:00"), ("03-11 12:00", "03-12 12:00")]


def test_where_every_dose_is_sure_no_gap_is_unsure():
    pieces = [piece("10 10:00", "11 10:00"), piece("11 11:00", "12 11:00", Known.TO_COME)]
    left = gaps_left(guinea_pig(), pieces, at("2025-03-12 20:00"))
    assert spans(left.sure) == [("03-11 10:00", "03-11 11:00"), ("03-12 11:00", "03-12 20:00")]
    assert left.perhaps == ()


@pytest.mark.parametrize(
    ("first", "sure", "perhaps"),
    [
        ("10 19:00", [], [("03-10 10:30", "03-10 19:00")]),
        ("11 12:00", [("03-11 10:30", "03-11 12:00")], [("03-10 10:30", "03-11 10:30")]),
    ],
)
def test_what_the_clinic_gave_unknown_may_cover_for_a_day(first, sure, perhaps):
    left = gaps_left(guinea_pig(given_in_clinic=None), [piece(first, "12 19:00")], at("2025-03-12 19:00"))
    assert (spans(left.sure), spans(left.perhaps)) == (sure, perhaps)
