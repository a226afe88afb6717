"""The sheet that goes home on paper: it must hold when every message fails."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import segno
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from followup.domain.advice import Line
from followup.domain.case import Case
from followup.domain.compiled import Medicine
from followup.domain.dose_words import number_in_words
from followup.domain.exact import decimal, exact
from followup.domain.terms import FollowUpError, Level, Species
from followup.models import Dose, Plan
from followup.services.advice import moment_of
from followup.services.advice_words import DISCLAIMER, watch_for
from followup.services.calendar import CalendarDay, calendar_of
from followup.services.facts import case_of, compiled_of
from followup.services.feeding_words import feeding_words, wound_words
from followup.services.links import url_of
from followup.services.people import first_recipients
from followup.services.plan_words import DoseWords, MedicineWords, PlanWords, plan_words
from followup.services.syringe import Syringe, syringes_of
from followup.services.texts import read_aloud

QR_SCALE = 4
MOST_LISTED = 6
"""Times of one amount that are listed beside it."""


@dataclass(frozen=True)
class Amount:
    """One amount, and when it is given: every time of a few, else in a sentence, since the calendar has them all."""

    amount: str
    times: tuple[str, ...]
    many: str


@dataclass(frozen=True)
class SheetMedicine:
    """One medicine with a drawn syringe for each volume. `left`: each amount with its times that are still to come.

    `held`: something went wrong with it, and a vet decides first; no amount stands on the sheet until then.
    """

    words: MedicineWords
    held: bool
    left: tuple[Amount, ...]
    syringes: tuple[Syringe, ...]


@dataclass(frozen=True)
class Sheet:
    """Everything on the sheet. `qr` draws `link`; `version` and `printed` tell one sheet from another."""

    words: PlanWords
    medicines: tuple[SheetMedicine, ...]
    calendar: tuple[CalendarDay, ...]
    version: int
    printed: str
    patient: str
    species: str
    procedure: str
    weight: str
    operated: str
    home: str
    given: tuple[str, ...]
    prescribed_by: str
    practice: Line
    practice_phone: str
    provider: Line | None
    provider_phone: str
    second_phone: str
    red_flags: tuple[str, ...]
    feeding: tuple[str, ...]
    wound: tuple[str, ...]
    link: str
    qr: str
    disclaimer: str


class NotConfirmed(FollowUpError):
    """Nothing is printed before the plan is confirmed."""


def may_be_printed(plan: Plan) -> bool:
    """Whether the plan was confirmed, and not taken back since."""
    return plan.confirmed_at is not None and plan.state != Plan.State.TAKEN_BACK


def sheet_of(plan: Plan, *, now: dt.datetime) -> Sheet:
    """The sheet in the language that is active. Raises NotConfirmed."""
    if not may_be_printed(plan):
        raise NotConfirmed(f"The plan of {plan.patient} waits for a vet, or was taken back: nothing is printed.")
    link = url_of(first_recipients(plan, now=now)[0])
    case, compiled = case_of(plan), compiled_of(plan)
    species = Species(plan.patient.species)
    moment = moment_of(plan.practice, species, now=now)

    def when(at: dt.datetime) -> str:
        return date_format(case.hours.local(at), "l j F Y, H:i")

    words = plan_words(case, compiled)
    rows = list(plan.doses.exclude(state=Dose.State.CANCELLED))
    open_rows = [row for row in rows if row.state == Dose.State.PLANNED and row.give_until > now]
    held = {row.drug for row in open_rows if row.held}
    open_doses = {(row.drug, row.number) for row in open_rows if row.drug not in held}
    return Sheet(
        words=words,
        medicines=tuple(
            SheetMedicine(
                said,
                said.drug in held,
                tuple(_amounts([dose for dose in said.doses if (said.drug, dose.number) in open_doses])),
                syringes_of(_left(medicine, open_doses)),
            )
            for said, medicine in zip(words.medicines, compiled.medication, strict=True)
        ),
        calendar=calendar_of(case, compiled, rows),
        version=plan.version,
        printed=when(now),
        patient=plan.patient.name,
        species=plan.patient.get_species_display(),
        procedure=plan.get_procedure_display(),
        weight=f"{number_in_words(decimal(exact(case.patient.weight_g)))} g",
        operated=when(case.surgery_ended_at),
        home=when(case.discharged_at),
        given=tuple(_given(each.drug, each.mg_per_kg, when(each.at)) for each in case.given_in_clinic or ()),
        prescribed_by=", ".join(dict.fromkeys(_prescribers(case))) or str(plan.confirmed_by),
        practice=moment.practice,
        practice_phone=read_aloud(moment.practice.phone),
        provider=moment.provider,
        provider_phone="" if moment.provider is None else read_aloud(moment.provider.phone),
        second_phone="" if moment.provider is None else read_aloud(moment.provider.second_phone),
        red_flags=watch_for(plan.patient.name, species, Level.URGENT),
        feeding=feeding_words(case, compiled.feeding),
        wound=wound_words(case),
        link=link,
        qr=qr_of(link).svg_data_uri(scale=QR_SCALE, border=2),
        disclaimer=_(DISCLAIMER),
    )


def _amounts(doses: Sequence[DoseWords]) -> Iterator[Amount]:
    for amount in dict.fromkeys(dose.amount for dose in doses):
        times = tuple(dose.when for dose in doses if dose.amount == amount)
        many = _("%(number)d doses, first %(first)s, last %(last)s: tick them off in the calendar")
        listed = len(times) <= MOST_LISTED
        said = "" if listed else many % {"number": len(times), "first": times[0], "last": times[-1]}
        yield Amount(amount, times if listed else (), said)


def _left(medicine: Medicine, open_doses: set[tuple[str, int]]) -> Medicine:
    return replace(medicine, doses=tuple(dose for dose in medicine.doses if (medicine.drug, dose.number) in open_doses))


def _prescribers(case: Case) -> Iterator[str]:
    """The vets who prescribed; none for a proposal, which the vet who confirmed the plan has made his own."""
    yield from (each.prescribed_by for each in case.home_medication or () if each.prescribed_by)


def qr_of(link: str) -> segno.QRCode:
    """The code that a phone's camera reads."""
    return segno.make_qr(link, error="m")


def _given(drug: str, mg_per_kg: float | None, when: str) -> str:
    words = {"drug": drug, "when": when, "amount": "" if mg_per_kg is None else f" {mg_per_kg:g} mg/kg"}
    return _("%(drug)s%(amount)s, %(when)s") % words
