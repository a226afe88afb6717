"""A compiled plan as people read it: on the page before it is confirmed, and on the sheet that goes home."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from followup.domain.case import Case
from followup.domain.compiled import CompiledPlan, Medicine, PlannedCheckIn
from followup.domain.dose_words import amount_in_words, number_in_words, strength_in_words
from followup.domain.terms import HomeRoute, ProblemKind

ROUTES = {
    HomeRoute.PO: gettext_noop("by mouth"),
    HomeRoute.CHEEK: gettext_noop("into the cheek"),
    HomeRoute.EYE: gettext_noop("into the eye"),
    HomeRoute.EAR: gettext_noop("into the ear"),
    HomeRoute.SKIN: gettext_noop("on the skin"),
}
RESTRICTIONS = {
    "no_bathing": gettext_noop("no bath"),
    "protect_wound": gettext_noop("keep the wound clean, and from being licked or bitten"),
    "soft_bedding": gettext_noop("soft, dust-free bedding, changed daily"),
    "kept_apart_from_entire_females": gettext_noop(
        "kept apart from females that are not spayed: a male can still be a father"
    ),
    "lead_only": gettext_noop("on the lead outside"),
    "indoors": gettext_noop("stays indoors"),
}


@dataclass(frozen=True)
class DoseWords:
    """When, and how much."""

    number: int
    when: str
    amount: str


@dataclass(frozen=True)
class MedicineWords:
    """One medicine: what the bottle says, how it is given, what to dispense, and each dose."""

    drug: str
    strength: str
    how: str
    syringe: str
    dispense: str
    proposal: bool
    doses: tuple[DoseWords, ...]


@dataclass(frozen=True)
class Dated:
    """Something with a day of the recovery, and when that is."""

    day: int
    when: str
    what: str = ""


@dataclass(frozen=True)
class PlanWords:
    """The whole plan, in words, on the owner's clock."""

    medicines: tuple[MedicineWords, ...]
    check_ins: tuple[Dated, ...]
    reviews: tuple[Dated, ...]
    restrictions: tuple[Dated, ...]
    gaps: tuple[tuple[str, str], ...]
    sign_off: Dated
    refused: tuple[str, ...]
    needs_vet: tuple[str, ...]
    warnings: tuple[str, ...]


def plan_words(case: Case, compiled: CompiledPlan) -> PlanWords:
    """The plan in the language that is active."""

    def when(moment: dt.datetime) -> str:
        return date_format(case.hours.local(moment), "D j M, H:i")

    def dated(moment: dt.datetime, what: str = "") -> Dated:
        return Dated(case.day(moment), date_format(case.hours.local(moment), "D j M"), what)

    def problems(kind: ProblemKind) -> tuple[str, ...]:
        return tuple(each.message for each in compiled.problems if each.kind is kind)

    return PlanWords(
        medicines=tuple(_medicine(each, case) for each in compiled.medication),
        check_ins=tuple(Dated(each.day, when(each.at), _asked(each)) for each in compiled.check_ins),
        reviews=tuple(dated(each.at) for each in compiled.wound_reviews),
        restrictions=tuple(dated(each.until, restriction_words(each.what)) for each in compiled.restrictions),
        gaps=tuple((when(each.starts), when(each.ends)) for each in compiled.cover.gaps),
        sign_off=dated(compiled.sign_off_at),
        refused=problems(ProblemKind.REFUSED),
        needs_vet=problems(ProblemKind.NEEDS_VET),
        warnings=problems(ProblemKind.WARNING),
    )


def _medicine(medicine: Medicine, case: Case) -> MedicineWords:
    return MedicineWords(
        drug=medicine.drug,
        strength=strength_in_words(medicine),
        how=_(ROUTES[medicine.route]),
        syringe="" if medicine.syringe_ml is None else f"{number_in_words(medicine.syringe_ml)} ml",
        dispense="" if medicine.total_ml is None else f"{number_in_words(medicine.total_ml)} ml",
        proposal=medicine.proposal,
        doses=tuple(
            DoseWords(dose.number, date_format(case.hours.local(dose.at), "D j M, H:i"), amount_in_words(dose))
            for dose in medicine.doses
        ),
    )


def _asked(check_in: PlannedCheckIn) -> str:
    words = _("%(number)d questions") % {"number": len(check_in.questions)}
    return _("%(questions)s, photo of the wound") % {"questions": words} if check_in.photo else words


def restriction_words(code: str) -> str:
    """What the patient must not do."""
    return _(RESTRICTIONS[code]) if code in RESTRICTIONS else code.replace("_", " ")
