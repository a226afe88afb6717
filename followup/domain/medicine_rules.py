"""Rules about medicine: doses missed twice running, a dose that must wait for a vet, and mishaps.

Source: clinical defaults, 4.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.answers import Question
from followup.domain.compiled import Medicine, PlannedDose
from followup.domain.observation import DoseReport
from followup.domain.recovery import Recovery
from followup.domain.terms import Certainty, Concern, DoseOutcome, Level, Species
from followup.domain.verdict import Finding

HELD_FROM = dt.timedelta(hours=3)
"""An NSAID dose is weighed against the signs from this long before its time."""

FIRST_DAY = dt.timedelta(hours=24)
MISSED = frozenset({DoseOutcome.MISSED, DoseOutcome.REFUSED, DoseOutcome.SPAT_OUT, DoseOutcome.VOMITED})
SEVERAL_RUNNING = 2
MORE_THAN_PLANNED, HALF_AS_MUCH_AGAIN, THREEFOLD = 1.0, 1.5, 3.0
HUMAN_PAINKILLERS = ("paracetamol", "ibuprofen", "naproxen", "diclofenac", "aspirin")
SOURCE = "clinical defaults, 4 (derived)"
STOP_AND_CALL = "clinical defaults, 4: stop the medicine and call (published product information)"


def medicine_findings(recovery: Recovery, now: dt.datetime) -> Iterator[Finding]:
    """What doses, and doses to come, give now."""
    for medicine in recovery.medication:
        yield from _missed(recovery, medicine)
        yield from _held(recovery, medicine, now)
    yield from _mishaps(recovery)
    yield from _others(recovery)


def missed_running(recovery: Recovery, drug: str) -> int:
    """How many reported doses of `drug`, up to the newest, were not taken."""
    running = 0
    for report, _ in recovery.dose_reports(drug):
        running = running + 1 if report.outcome in MISSED else 0
    return running


def held_drugs(recovery: Recovery, now: dt.datetime) -> tuple[str, ...]:
    """The drugs whose reminders wait until a vet decides."""
    signs = _against_an_nsaid(recovery)
    held = {
        medicine.drug
        for medicine in recovery.medication
        if medicine.is_nsaid and signs and _open_dose(recovery, medicine, now) is not None
    }
    wrong = {
        seen.dose.drug
        for seen in recovery.observations
        if seen.dose is not None and _went_wrong(recovery, seen.dose) > Level.MONITOR
    }
    return tuple(sorted(held | wrong))


def dose_moments(recovery: Recovery) -> Iterator[dt.datetime]:
    """When each NSAID dose begins to be weighed against the signs."""
    for medicine in recovery.medication:
        if medicine.is_nsaid:
            yield from (dose.at - HELD_FROM for dose in medicine.doses)


def _missed(recovery: Recovery, medicine: Medicine) -> Iterator[Finding]:
    running = missed_running(recovery, medicine.drug)
    if running >= SEVERAL_RUNNING:
        last = recovery.dose_reports(medicine.drug)[-1][1]
        yield _finding(
            f"missed_{medicine.drug}",
            Level.URGENT,
            f"{running} doses of {medicine.drug} running were not taken",
            last,
        )


def _held(recovery: Recovery, medicine: Medicine, now: dt.datetime) -> Iterator[Finding]:
    signs = _against_an_nsaid(recovery) if medicine.is_nsaid else []
    dose = _open_dose(recovery, medicine, now) if signs else None
    if dose is None:
        return
    due = recovery.case.hours.local(dose.at)
    until = recovery.case.hours.local(dose.give_until)
    yield Finding(
        rule=f"held_{medicine.drug}",
        concern=Concern.MEDICINE,
        level=Level.URGENT,
        certainty=Certainty.CERTAIN,
        because=f"{medicine.drug} of {due:%a %H:%M} is held, because of {', '.join(signs)}: "
        f"a vet decides before {until:%a %H:%M}",
        source=STOP_AND_CALL,
        time_alone=True,
        since=dose.at - HELD_FROM,
    )


def _open_dose(recovery: Recovery, medicine: Medicine, now: dt.datetime) -> PlannedDose | None:
    """The newest dose that is being weighed and that nobody has reported."""
    reported = {_meant(medicine, at).number for _, at in recovery.dose_reports(medicine.drug) if medicine.doses}
    weighed = [dose for dose in medicine.doses if dose.at - HELD_FROM <= now and dose.number not in reported]
    return weighed[-1] if weighed else None


def _meant(medicine: Medicine, at: dt.datetime) -> PlannedDose:
    """The dose that a report of that time speaks of."""
    begun = [dose for dose in medicine.doses if dose.at - HELD_FROM <= at]
    return begun[-1] if begun else medicine.doses[0]


def _against_an_nsaid(recovery: Recovery) -> list[str]:
    """The standing signs under which an NSAID waits for a vet, in words."""
    late = [
        seen
        for seen in recovery.standing(Question.DEMEANOUR)
        if seen.answer in {"dull", "collapsed"} and recovery.case.since_surgery(seen.at) >= FIRST_DAY
    ]
    vomited = recovery.vomiting()
    facts = {
        "eating nothing": recovery.stands(Question.APPETITE, "none"),
        "eating only a few bites": recovery.stands(Question.APPETITE, "a_few_bites"),
        "vomiting": vomited is not None and vomited[0] > 0,
        "diarrhoea": recovery.stands(Question.FAECES, "diarrhoea"),
        "drinking more": recovery.stands(Question.DRINKING, "more"),
        "being dull": bool(late),
    }
    return [words for words, holds in facts.items() if holds]


def _mishaps(recovery: Recovery) -> Iterator[Finding]:
    for seen in recovery.observations:
        level = Level.ON_TRACK if seen.dose is None else _went_wrong(recovery, seen.dose)
        if seen.dose is not None and level > Level.ON_TRACK:
            yield _finding(f"mishap_{seen.dose.drug}", level, f"something went wrong with {seen.dose.drug}", seen.at)


def _went_wrong(recovery: Recovery, report: DoseReport) -> Level:
    if report.route_wrong:
        return Level.EMERGENCY
    planned = next(
        (float(dose.ml) for each in recovery.medication if each.drug == report.drug for dose in each.doses if dose.ml),
        None,
    )
    if report.ml is not None and planned:
        return _too_much(recovery, round(report.ml / planned, 6))  # three times is three times
    return Level.URGENT if report.outcome is DoseOutcome.WENT_WRONG else Level.ON_TRACK


def _too_much(recovery: Recovery, times: float) -> Level:
    if times >= THREEFOLD:
        return Level.EMERGENCY
    if times >= HALF_AS_MUCH_AGAIN:
        return Level.EMERGENCY if recovery.species is Species.CAT else Level.URGENT
    return Level.MONITOR if times > MORE_THAN_PLANNED else Level.ON_TRACK


def _others(recovery: Recovery) -> Iterator[Finding]:
    for seen in recovery.observations:
        what = seen.other_medicine.what.casefold() if seen.other_medicine is not None else ""
        named = [drug for drug in HUMAN_PAINKILLERS if drug in what]
        if named:
            yield _finding(
                "human_painkiller", Level.EMERGENCY, f"a painkiller for people was given: {named[0]}", seen.at
            )


def _finding(rule: str, level: Level, because: str, at: dt.datetime) -> Finding:
    return Finding(
        rule=rule,
        concern=Concern.MEDICINE,
        level=level,
        certainty=Certainty.CERTAIN,
        because=because,
        source=SOURCE,
        since=at,
    )
