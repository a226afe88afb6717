"""What a vet who has never seen this animal must know at once: what was done, what it had and when, what may follow."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import override

from followup.domain.answers import Question
from followup.domain.case import Case, DischargeCard
from followup.domain.clocks import clock_of
from followup.domain.dose_words import number_in_words
from followup.domain.observation import Observation
from followup.domain.recovery import Recovery
from followup.domain.terms import Level, Sign
from followup.models import Plan
from followup.services.emergency_doses import Given, every_dose, had_by, next_nsaid, when
from followup.services.facts import case_of, compiled_of, observations_of, readable, recovery_of
from followup.services.morning_list import between
from followup.services.texts import after_a_name, read_aloud
from followup.services.weight_picture import weighings

SIGNS = {Sign.FOOD: "eaten", Sign.FAECES: "droppings", Sign.URINE: "urine"}
NO_SIGNS = (("what was told", "cannot be worked out now: ask the owner"),)


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
    provider: str
    owner: str
    clock: str
    printed: str
    version: int


def emergency_sheet(plan: Plan, *, now: dt.datetime) -> EmergencySheet:
    """The page at `now`. In English: whoever reads it works with animals, and may not read the owner's language."""
    with override("en"):
        return _sheet(plan, now)


def _sheet(plan: Plan, now: dt.datetime) -> EmergencySheet:
    case, compiled = case_of(plan), compiled_of(plan)
    recovery = readable(lambda: recovery_of(plan), otherwise=None)
    had = had_by(plan, case, compiled, now=now)
    owner, practice = plan.patient.owner, plan.practice
    return EmergencySheet(
        patient=plan.patient.name,
        who=_who(plan, case),
        cautions=", ".join(sorted(each.value.replace("_", " ") for each in case.patient.cautions)) or "none known",
        done=f"{plan.get_procedure_display()}, surgery ended {when(case, case.surgery_ended_at)}, "
        f"home {when(case, case.discharged_at)}",
        card=tuple(_card(case.discharge)),
        level=Level(plan.level).word.replace("_", " "),
        why=_why(plan),
        signs=NO_SIGNS if recovery is None else tuple(_signs(recovery, now)),
        weights=tuple(_weights(plan, case, observations_of(plan) if recovery is None else recovery.observations)),
        given=every_dose(had),
        next_nsaid=tuple(next_nsaid(had)),
        practice=practice.name,
        practice_phone=read_aloud(str(practice.phone)),
        practice_address=practice.address,
        provider=_provider(plan),
        owner=f"{owner.name}, {after_a_name(owner.name, read_aloud(owner.phone))}",
        clock=case.hours.zone.key,
        printed=date_format(case.hours.local(now), "D j M Y H:i"),
        version=plan.version,
    )


def _provider(plan: Plan) -> str:
    """Who answers for the practice at night; empty when nobody is written down."""
    found = plan.practice.provider_for(plan.patient.species)
    return "" if found is None else f"{found.name}: {after_a_name(found.name, read_aloud(str(found.phone)))}"


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
        known = when(recovery.case, clock.known.latest)
        hours = f"{between(clock.reading(now))} h without" + ("" if clock.runs else " when last heard")
        yield words, f"{'nothing known since surgery' if clock.nothing_known else f'last known {known}'}; {hours}"
    for seen in recovery.standing(Question.DEMEANOUR)[-1:]:
        yield "behaviour", f"{seen.answer}, seen {when(recovery.case, seen.at)}"


def _weights(plan: Plan, case: Case, seen: Iterable[Observation]) -> Iterator[str]:
    yield f"{case.patient.weight_g:g} g at discharge"
    for each in weighings(case, plan.patient.weights.all(), seen):
        if each.at > case.discharged_at:
            yield f"{number_in_words(each.grams)} g, {when(case, each.at)}, {'home' if each.at_home else 'clinic'}"
