"""What a vet who has never seen this animal must know at once: what was done, what it had and when, what may follow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils.formats import date_format

from followup.domain.answers import Question
from followup.domain.case import Case, DischargeCard, GivenInClinic
from followup.domain.clocks import clock_of
from followup.domain.compiled import CompiledPlan
from followup.domain.dose_words import number_in_words
from followup.domain.exact import GRAMS_PER_KG, decimal, exact
from followup.domain.hours import DAY
from followup.domain.late_dose import UNTOUCHED
from followup.domain.recovery import Recovery
from followup.domain.terms import DoseOutcome, Level, Sign
from followup.models import Dose, Plan
from followup.protocols.load_formulary import formulary
from followup.services.facts import case_of, compiled_of, recovery_of
from followup.services.morning_list import between
from followup.services.texts import read_aloud
from followup.services.weight_picture import weighings

SIGNS = {Sign.FOOD: "eaten", Sign.FAECES: "droppings", Sign.URINE: "urine"}


@dataclass(frozen=True)
class Given:
    """One dose: what, how much, when, and whether it went in as far as anybody told."""

    when: str
    what: str
    amount: str
    where: str
    known: str


@dataclass(frozen=True)
class EmergencySheet:
    """One page. All times on the owner's clock, named in `clock`; `printed` is when it was made."""

    patient: str
    who: str
    cautions: str
    done: str
    card: tuple[tuple[str, str], ...]
    level: str
    why: tuple[str, ...]
    signs: tuple[tuple[str, str], ...]
    weights: tuple[str, ...]
    given: tuple[Given, ...]
    next_nsaid: tuple[str, ...]
    practice: str
    practice_phone: str
    practice_address: str
    owner: str
    clock: str
    printed: str
    version: int


def emergency_sheet(plan: Plan, *, now: dt.datetime) -> EmergencySheet:
    """The page at `now`. In English: whoever reads it works with animals, and may not read the owner's language."""
    case, compiled, recovery = case_of(plan), compiled_of(plan), recovery_of(plan)
    doses = list(plan.doses.exclude(state=Dose.State.CANCELLED).order_by("at", "pk"))
    return EmergencySheet(
        patient=plan.patient.name,
        who=_who(plan, case),
        cautions=", ".join(sorted(each.value.replace("_", " ") for each in case.patient.cautions)) or "none known",
        done=f"{plan.get_procedure_display()}, surgery ended {_when(case, case.surgery_ended_at)}, "
        f"home {_when(case, case.discharged_at)}",
        card=tuple(_card(case.discharge)),
        level=Level(plan.level).word.replace("_", " "),
        why=_why(plan),
        signs=tuple(_signs(recovery, now)),
        weights=tuple(_weights(plan, case, recovery)),
        given=(*_in_clinic(case), *_home_doses(doses, case, compiled, now)),
        next_nsaid=tuple(_next_nsaid(case, compiled, doses, now)),
        practice=plan.practice.name,
        practice_phone=read_aloud(str(plan.practice.phone)),
        practice_address=plan.practice.address,
        owner=f"{plan.patient.owner.name}, {read_aloud(plan.patient.owner.phone)}",
        clock=case.hours.zone.key,
        printed=_when(case, now),
        version=plan.version,
    )


def _who(plan: Plan, case: Case) -> str:
    age = case.patient.age_months
    years = "age not known" if age is None else f"{age:g} months old at surgery"
    return f"{plan.patient.get_species_display()}, {plan.patient.get_sex_display()}, {years}"


def _card(card: DischargeCard) -> Iterator[tuple[str, str]]:
    """What the nurse wrote; unknown is said, since a reader must not take it for normal."""
    known = {
        "approach": card.approach,
        "closure": card.closure,
        "ring or tunic": card.ring_or_tunic,
        "blood loss": card.blood_loss,
        "temperature at discharge": None if card.temperature_c is None else f"{card.temperature_c:g} °C",
        "appetite at discharge": card.appetite,
    }
    for name, value in known.items():
        yield name, "not written down" if value is None else str(value).replace("_", " ")


def _why(plan: Plan) -> tuple[str, ...]:
    newest = plan.verdicts.order_by("at", "pk").last()
    return tuple(each["because"] for each in newest.body.get("flags", ())) if newest is not None else ()


def _signs(recovery: Recovery, now: dt.datetime) -> Iterator[tuple[str, str]]:
    """Last known, as bounds; and the newest behaviour."""
    for sign, words in SIGNS.items():
        clock = clock_of(recovery, sign)
        known = _when(recovery.case, clock.known.latest)
        hours = f"{between(clock.reading(now))} h without" + ("" if clock.runs else " when last heard")
        yield words, f"{'nothing known since surgery' if clock.nothing_known else f'last known {known}'}; {hours}"
    for seen in recovery.standing(Question.DEMEANOUR)[-1:]:
        yield "behaviour", f"{seen.answer}, seen {_when(recovery.case, seen.at)}"


def _weights(plan: Plan, case: Case, recovery: Recovery) -> Iterator[str]:
    yield f"{case.patient.weight_g:g} g at discharge"
    for each in weighings(case, plan.patient.weights.all(), recovery.observations):
        if each.at > case.discharged_at:
            yield f"{number_in_words(each.grams)} g, {_when(case, each.at)}, {'home' if each.at_home else 'clinic'}"


def _in_clinic(case: Case) -> Iterator[Given]:
    if case.given_in_clinic is None:
        yield Given("", "what the clinic gave is not written down", "", "clinic", "unknown")
    for each in case.given_in_clinic or ():
        route = each.route.value.upper() if each.route is not None else "route not written down"
        yield Given(_when(case, each.at), each.drug, _milligrams(each, case), f"clinic, {route}", "given")


def _milligrams(each: GivenInClinic, case: Case) -> str:
    if each.mg_per_kg is None:
        return "amount not written down"
    mg = exact(each.mg_per_kg) * exact(case.patient.weight_g) / GRAMS_PER_KG
    return f"{each.mg_per_kg:g} mg/kg ({number_in_words(decimal(mg))} mg)"


def _home_doses(doses: list[Dose], case: Case, compiled: CompiledPlan, now: dt.datetime) -> Iterator[Given]:
    """Every dose that is over; of those to come the next of each drug, and how long it goes on."""
    ahead: dict[str, list[Dose]] = {}
    for row in doses:
        if row.at <= now or row.outcome:
            yield _at_home(row, case, compiled, now)
        else:
            ahead.setdefault(row.drug, []).append(row)
    for rows in ahead.values():
        following = _at_home(rows[0], case, compiled, now)
        more = f", {len(rows) - 1} more to {_when(case, rows[-1].at)}" if len(rows) > 1 else ""
        yield replace(following, known=f"to come{more}")


def _at_home(row: Dose, case: Case, compiled: CompiledPlan, now: dt.datetime) -> Given:
    medicine = next((each for each in compiled.medication if each.drug == row.drug), None)
    dose = next((each for each in medicine.doses if each.number == row.number), None) if medicine else None
    per_kg = dose.mg_per_kg_delivered if dose is not None else None
    strength = f" of {row.strength}" if row.strength else ""
    amount = f"{row.amount}{strength}" + (f" ({number_in_words(per_kg)} mg/kg)" if per_kg is not None else "")
    route = medicine.route.value if medicine is not None else ""
    return Given(_when(case, row.given_at or row.at), row.drug, amount, f"home, {route}", _known(row, now))


def _known(row: Dose, now: dt.datetime) -> str:
    if row.outcome:
        return row.get_outcome_display()
    return "to come" if row.at > now else "not told: may have been given"


def _next_nsaid(case: Case, compiled: CompiledPlan, doses: list[Dose], now: dt.datetime) -> Iterator[str]:
    """Not before; what nobody told of counts as given."""
    table = formulary()
    clinic = [(each.at, each.drug) for each in case.given_in_clinic or () if table.is_nsaid(each.drug)]
    home = [
        (row.given_at or row.at, row.drug)
        for row in doses
        if table.is_nsaid(row.drug) and row.at <= now and not _untouched(row)
    ]
    had = sorted([*clinic, *home])
    if case.given_in_clinic is None:
        yield "What the clinic gave is not known: an NSAID may have been given."
    if not had:
        yield "No NSAID is known to have been given."
        return
    at, drug = had[-1]
    every = next((each.every_hours for each in compiled.medication if each.drug == drug), None)
    own = at + (float(every) * dt.timedelta(hours=1) if every is not None else DAY)
    yield f"Last NSAID: {drug}, {_when(case, at)} (a dose that nobody told of counts as given)."
    yield f"{drug} again: not before {_when(case, own)}. Another NSAID: not before {_when(case, max(own, at + DAY))}."


def _untouched(row: Dose) -> bool:
    return bool(row.outcome) and DoseOutcome(row.outcome) in UNTOUCHED


def _when(case: Case, moment: dt.datetime) -> str:
    return date_format(case.hours.local(moment), "D j M H:i")
