"""What a nurse and a vet wrote down at discharge: the card, what was given, what was prescribed."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from followup.domain.answers import ANSWERS, Question
from followup.domain.case import DischargeCard, GivenInClinic, Prescription
from followup.domain.dosing import NoSuchSyringe, mark_of
from followup.domain.reading import Table
from followup.domain.terms import (
    Approach,
    BloodLoss,
    ClinicRoute,
    Closure,
    Company,
    Form,
    Formulation,
    HomeRoute,
    RingOrTunic,
)

LONGEST_COURSE = 60
"""Days; the case format's own limit."""

TABLET_PARTS = (1, 2, 4)
FIXED_UNITS = ("ml", "drop", "tablet", "g")
NEEDS = {
    Form.LIQUID: ("mg_per_kg", "mg_per_ml"),
    Form.TABLET: ("mg_per_kg", "mg_per_tablet"),
    Form.FIXED: ("fixed_amount", "fixed_unit"),
}
"""What each form of medicine cannot do without."""


def read_card(table: Table) -> DischargeCard:
    """The card; an absent key is unknown."""
    appetite = table.text("appetite", "") or None
    if appetite is not None and appetite not in ANSWERS[Question.APPETITE]:
        raise table.wrong("appetite", f"must be one of {', '.join(ANSWERS[Question.APPETITE])}")
    found = DischargeCard(
        fit_to_go_by=table.text("fit_to_go_by", ""),
        approach=table.optional_word("approach", Approach),
        closure=table.optional_word("closure", Closure),
        ring_or_tunic=table.optional_word("ring_or_tunic", RingOrTunic),
        blood_loss=table.optional_word("blood_loss", BloodLoss),
        temperature_c=table.number("temperature_c"),
        company=table.optional_word("company", Company),
        night_plan=table.yes_no("night_plan"),
        home_scales=table.yes_no("home_scales"),
        appetite=appetite,
        feeding_ml_per_day=table.number("feeding_ml_per_day", above=0),
        stitches_out_on=table.day("stitches_out_on"),
    )
    table.done()
    return found


def read_given(table: Table, home: dt.datetime) -> GivenInClinic:
    """One drug given in the clinic, before the discharge."""
    found = GivenInClinic(
        drug=_drug(table),
        at=table.moment("at"),
        mg_per_kg=table.number("mg_per_kg", above=0),
        route=table.optional_word("route", ClinicRoute),
        formulation=table.optional_word("formulation", Formulation) or Formulation.STANDARD,
    )
    table.done()
    if found.at > home:
        raise table.wrong("at", "is after the discharge")
    return found


def read_prescription(table: Table) -> Prescription:
    """One medicine that goes home, with everything that its form needs."""
    form = table.optional_word("form", Form) or Form.LIQUID
    for key in NEEDS[form]:
        if not table.has(key):
            raise table.wrong(key, f"is missing: a {form.value} medicine needs it")
    found = Prescription(
        drug=_drug(table),
        every_hours=table.needed_number("every_hours", above=0),
        days=table.needed_whole("days", least=1),
        form=form,
        mg_per_kg=table.number("mg_per_kg", above=0),
        first_mg_per_kg=table.number("first_mg_per_kg", above=0),
        mg_per_ml=table.number("mg_per_ml", above=0),
        syringe_ml=_syringe(table),
        mg_per_tablet=table.number("mg_per_tablet", above=0),
        tablet_parts=table.whole("tablet_parts", least=1) or 2,
        fixed_amount=table.number("fixed_amount", above=0),
        fixed_unit=table.text("fixed_unit", ""),
        route=table.optional_word("route", HomeRoute) or HomeRoute.PO,
        prescribed_by=table.text("prescribed_by", ""),
        off_label_explained=table.yes_no("off_label_explained"),
    )
    table.done()
    _refuse_impossible(found, table)
    return found


def _refuse_impossible(found: Prescription, table: Table) -> None:
    if found.days > LONGEST_COURSE:
        raise table.wrong("days", f"must be at most {LONGEST_COURSE}")
    if found.tablet_parts not in TABLET_PARTS:
        raise table.wrong("tablet_parts", "must be 1, 2 or 4")
    if (found.form is Form.FIXED or table.has("fixed_unit")) and found.fixed_unit not in FIXED_UNITS:
        raise table.wrong("fixed_unit", f"must be one of {', '.join(FIXED_UNITS)}")


def _drug(table: Table) -> str:
    """The generic name, lower case, as the formulary has it."""
    drug = table.text("drug").strip().lower()
    if not drug:
        raise table.wrong("drug", "is empty")
    return drug


def _syringe(table: Table) -> float | None:
    found = table.number("syringe_ml", above=0)
    if found is not None:
        try:
            mark_of(Decimal(str(found)))
        except NoSuchSyringe as fault:
            raise table.wrong("syringe_ml", str(fault)) from None
    return found
