"""Every drug that an animal had, or may have had, for an emergency vet; and when the next NSAID may follow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.formats import date_format

from followup.domain.case import Case, GivenInClinic
from followup.domain.compiled import CompiledPlan, Medicine, PlannedDose
from followup.domain.dose_words import amount_in_words, number_in_words, strength_in_words
from followup.domain.exact import GRAMS_PER_KG, decimal, exact
from followup.domain.hours import DAY
from followup.domain.late_dose import UNTOUCHED
from followup.domain.terms import DoseOutcome
from followup.domain.told_dose import Told
from followup.models import Dose, Plan
from followup.protocols.load_formulary import formulary

Raw = Mapping[str, str]
"""What was told of one dose, as it came in."""


@dataclass(frozen=True)
class Given:
    """One dose: what, how much, when, and whether it went in as far as anybody told."""

    when: str
    what: str
    amount: str
    where: str
    known: str


@dataclass(frozen=True)
class Had:
    """What the animal had: by the case, the plan, its doses' rows and what was told of them, as known at `now`."""

    case: Case
    compiled: CompiledPlan
    rows: tuple[Dose, ...]
    told: tuple[Raw, ...]
    now: dt.datetime

    def mishap(self, row: Dose) -> Raw | None:
        """What was told last of a dose that went wrong; one that was given, and then again, stays given in its row."""
        of_this = [each for each in self.told if str(each.get("id")) == str(row.pk) and _went_wrong(each)]
        return of_this[-1] if of_this else None

    def others(self) -> tuple[Raw, ...]:
        """Medicines that are not on the plan."""
        return tuple(each for each in self.told if each.get("outcome") == Told.OTHER_MEDICINE)

    def taken_at(self, row: Dose) -> dt.datetime:
        """When a dose was taken, as told; else when it was planned."""
        mishap = self.mishap(row)
        return _moment(mishap) if mishap is not None else row.given_at or row.at


def had_by(plan: Plan, case: Case, compiled: CompiledPlan, *, now: dt.datetime) -> Had:
    """Read it from the plan's rows: two queries."""
    rows = tuple(plan.doses.exclude(state=Dose.State.CANCELLED).order_by("at", "pk"))
    replies = plan.replies.filter(raw__has_key="dose").order_by("received_at", "pk")
    told = tuple(
        {**reply.raw["dose"], "given_at": reply.raw["dose"].get("given_at") or reply.received_at.isoformat()}
        for reply in replies
        if reply.raw["dose"]
    )
    return Had(case, compiled, rows, told, now)


def every_dose(had: Had) -> tuple[Given, ...]:
    """The clinic's doses, those at home, and what was given besides. Of those to come the next of each drug."""
    return (*_in_clinic(had.case), *_home_doses(had), *_besides(had))


def next_nsaid(had: Had) -> Iterator[str]:
    """Not before; what nobody told of counts as given, and unknown is said."""
    case, table = had.case, formulary()
    clinic = [(each.at, each.drug) for each in case.given_in_clinic or () if table.is_nsaid(each.drug)]
    home = [
        (had.taken_at(row), row.drug)
        for row in had.rows
        if table.is_nsaid(row.drug) and (row.at <= had.now or row.outcome) and not _untouched(row)
    ]
    if case.given_in_clinic is None:
        first = when(case, case.surgery_ended_at + DAY)
        yield f"What the clinic gave is not known: it may have been an NSAID. No NSAID before {first}."
    for raw in had.others():
        said = f"Another medicine was given: {_named(raw)}, {when(case, _moment(raw))}. It may have been a painkiller"
        yield f"{said}: no NSAID before {when(case, _moment(raw) + DAY)}."
    if clinic or home:
        yield from _after(*max([*clinic, *home]), had)
    elif case.given_in_clinic is not None:
        yield "No NSAID is known to have been given."


def when(case: Case, moment: dt.datetime) -> str:
    """A moment on the owner's clock."""
    return date_format(case.hours.local(moment), "D j M H:i")


def _after(at: dt.datetime, drug: str, had: Had) -> Iterator[str]:
    """After the last NSAID, and after any other medicine, which may have been one."""
    every = next((each.every_hours for each in had.compiled.medication if each.drug == drug), None)
    own = at + (float(every) * dt.timedelta(hours=1) if every is not None else DAY)
    own = max([own, *(_moment(raw) + DAY for raw in had.others())])
    again, another = when(had.case, own), when(had.case, max(own, at + DAY))
    yield f"Last NSAID: {drug}, {when(had.case, at)} (a dose that nobody told of counts as given)."
    yield f"{drug} again: not before {again}. Another NSAID: not before {another}."


def _in_clinic(case: Case) -> Iterator[Given]:
    if case.given_in_clinic is None:
        yield Given("", "what the clinic gave is not written down", "", "clinic", "unknown")
    for each in case.given_in_clinic or ():
        route = each.route.value.upper() if each.route is not None else "route not written down"
        yield Given(when(case, each.at), each.drug, _milligrams(each, case), f"clinic, {route}", "given")


def _milligrams(each: GivenInClinic, case: Case) -> str:
    if each.mg_per_kg is None:
        return "amount not written down"
    mg = exact(each.mg_per_kg) * exact(case.patient.weight_g) / GRAMS_PER_KG
    return f"{each.mg_per_kg:g} mg/kg ({number_in_words(decimal(mg))} mg)"


def _home_doses(had: Had) -> Iterator[Given]:
    """Every dose that is over; of those to come the next of each drug, and how long it goes on."""
    ahead: dict[str, list[Dose]] = {}
    for row in had.rows:
        if row.at <= had.now or row.outcome:
            yield _at_home(row, had)
        else:
            ahead.setdefault(row.drug, []).append(row)
    for rows in ahead.values():
        more = f", {len(rows) - 1} more to {when(had.case, rows[-1].at)}" if len(rows) > 1 else ""
        held = " (held: a vet decides first)" if rows[0].held else ""
        yield replace(_at_home(rows[0], had), known=f"to come{more}{held}")


def _at_home(row: Dose, had: Had) -> Given:
    medicine = next((each for each in had.compiled.medication if each.drug == row.drug), None)
    dose = next((each for each in medicine.doses if each.number == row.number), None) if medicine else None
    strength = f" of {row.strength}" if row.strength else ""
    known = ", ".join(_reckoned(row, medicine, dose)) if medicine is not None and dose is not None else ""
    amount = f"{row.amount}{strength}" + (f" ({known})" if known else "")
    route = f"home, {medicine.route.value}" if medicine is not None else "home"
    return Given(when(had.case, had.taken_at(row)), row.drug, amount, route, _known(row, had))


def _reckoned(row: Dose, medicine: Medicine, dose: PlannedDose) -> Iterator[str]:
    """The mg and the mg/kg of what was to be given; nothing where the row is of another strength than the plan now."""
    mg = _delivered(medicine, dose)
    as_planned = (row.amount, row.strength) == (amount_in_words(dose), strength_in_words(medicine))
    if mg is not None and as_planned:
        yield f"{number_in_words(mg)} mg"
    if dose.mg_per_kg_delivered is not None:
        yield f"{number_in_words(dose.mg_per_kg_delivered)} mg/kg"


def _delivered(medicine: Medicine, dose: PlannedDose) -> Decimal | None:
    if dose.ml is not None and medicine.mg_per_ml is not None:
        return dose.ml * medicine.mg_per_ml
    if dose.tablets is not None and medicine.mg_per_tablet is not None:
        return dose.tablets * medicine.mg_per_tablet
    return None


def _known(row: Dose, had: Had) -> str:
    mishap = had.mishap(row)
    if row.outcome:
        said = row.get_outcome_display()
        return said if mishap is None else f"{said}: {', '.join(_wrong(mishap))}"
    return "to come" if row.at > had.now else "not told: may have been given"


def _wrong(raw: Raw) -> Iterator[str]:
    yield str(raw["outcome"]).replace("_", " ")
    if raw.get("ml"):
        yield f"{raw['ml']} ml went in"
    if raw.get("mg_per_ml"):
        yield f"the bottle said {raw['mg_per_ml']} mg/ml"


def _besides(had: Had) -> Iterator[Given]:
    for raw in had.others():
        yield Given(when(had.case, _moment(raw)), _named(raw), "amount not known", "home", "told: not on the plan")


def _named(raw: Raw) -> str:
    return raw.get("what") or "nobody knows which"


def _moment(raw: Raw) -> dt.datetime:
    return dt.datetime.fromisoformat(raw["given_at"])


def _went_wrong(raw: Raw) -> bool:
    return Told(raw["outcome"]).went_wrong and raw["outcome"] != Told.OTHER_MEDICINE


def _untouched(row: Dose) -> bool:
    return bool(row.outcome) and DoseOutcome(row.outcome) in UNTOUCHED
