"""Something went wrong with a medicine: too much, too soon, another one, into the lungs.

Source: clinical defaults, 4, "Mishaps with medicine" (D; cats and paracetamol: P).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from followup.domain.compiled import Medicine, PlannedDose
from followup.domain.dose_times import least_spacing
from followup.domain.dose_words import number_in_words
from followup.domain.drug_groups import ANIMAL_NSAIDS
from followup.domain.exact import GRAMS_PER_KG, exact
from followup.domain.observation import DoseReport, Observation
from followup.domain.recovery import Recovery
from followup.domain.said import Painkiller, Said, said_in
from followup.domain.steady_rules import Mishaps
from followup.domain.terms import Certainty, Concern, DoseOutcome, Level
from followup.domain.verdict import Finding

BEGINS_BEFORE = dt.timedelta(hours=3)
"""From this long before its time a report speaks of a dose and no longer of the one before (D)."""

Mishap = tuple[str, Level, str, dt.datetime]
"""Rule, level, reason, when."""


def mishap_findings(recovery: Recovery) -> Iterator[Finding]:
    """One finding for every mishap that was told or that the reports show."""
    for rule, level, because, at in _every(recovery):
        yield Finding(
            rule=rule,
            concern=Concern.MEDICINE,
            level=level,
            certainty=Certainty.CERTAIN,
            because=because,
            source=rule_of(recovery).source.text,
            since=at,
        )


def rule_of(recovery: Recovery) -> Mishaps:
    """The figures and levels of this protocol."""
    return recovery.rules.steady.mishaps


def drugs_gone_wrong(recovery: Recovery) -> frozenset[str]:
    """The drugs of the plan with a mishap that no vet has released since: their reminders wait."""
    found = set()
    for medicine in recovery.medication:
        released = recovery.released_at(medicine.drug)
        wrong = [at for *_, at in _with(recovery, medicine)]
        if medicine.is_nsaid:  # two painkillers at once, or nobody knows what it was
            wrong += [seen.at for seen in recovery.observations if seen.other_medicine is not None]
        wrong += [seen.at for seen in recovery.observations if _tells_of(recovery, seen, medicine)]
        if any(released is None or at > released for at in wrong):
            found.add(medicine.drug)
    return frozenset(found)


def dose_meant(medicine: Medicine, at: dt.datetime) -> PlannedDose | None:
    """The dose that a report of that time speaks of; None for a medicine without doses."""
    begun = [dose for dose in medicine.doses if dose.at - BEGINS_BEFORE <= at] or medicine.doses[:1]
    return begun[-1] if begun else None


def _every(recovery: Recovery) -> Iterator[Mishap]:
    for medicine in recovery.medication:
        yield from _with(recovery, medicine)
    planned = {medicine.drug for medicine in recovery.medication}
    for seen in recovery.observations:
        if seen.dose is not None and seen.dose.drug not in planned:
            yield from _told(recovery, seen.dose, seen.at)
        if seen.other_medicine is not None:
            yield _another(recovery, seen, seen.other_medicine.what, planned)
        yield from _in_words(recovery, seen, planned)


def _with(recovery: Recovery, medicine: Medicine) -> Iterator[Mishap]:
    """What went wrong with one medicine of the plan."""
    for report, at in recovery.dose_reports(medicine.drug):
        found = [*_told(recovery, report, at), *_amount(recovery, medicine, report, at)]
        if found:
            yield max(found, key=lambda mishap: mishap[1])
    yield from _too_soon(recovery, medicine)


def _told(recovery: Recovery, report: DoseReport, at: dt.datetime) -> Iterator[Mishap]:
    """What the report says by itself. Into the lungs, the wrong animal, the wrong place: nobody can tell which."""
    rule = rule_of(recovery)
    if report.route_wrong:
        yield _mishap(report.drug, rule.grave, "into the lungs, the wrong animal or the wrong place", at)
    elif report.outcome is DoseOutcome.WENT_WRONG and report.ml is None:
        yield _mishap(report.drug, rule.another, "how much is not known", at)


def _amount(recovery: Recovery, medicine: Medicine, report: DoseReport, at: dt.datetime) -> Iterator[Mishap]:
    """What was measured against what was planned, and the whole day against the hard limit."""
    dose, rule = dose_meant(medicine, at), rule_of(recovery)
    if report.ml is None or dose is None or not dose.ml:
        return
    times = exact(report.ml) / exact(dose.ml)
    words = f"{report.ml:g} ml where {number_in_words(dose.ml)} ml was planned, {float(times):.3g} times as much"
    if times >= rule.far_too_much:
        yield _mishap(medicine.drug, rule.grave, words, at)
    elif _over_the_limit(recovery, medicine, at):
        limit = medicine.hard_limit_mg_per_kg_a_day
        yield _mishap(medicine.drug, rule.grave, f"{words}; above the day's hard limit of {limit:f} mg/kg", at)
    elif times >= rule.half_again:
        yield _mishap(medicine.drug, _another_level(recovery, nsaid=medicine.is_nsaid), words, at)
    elif times > 1:
        yield _mishap(medicine.drug, rule.a_little_more, words, at)


def _another_level(recovery: Recovery, *, nsaid: bool) -> Level:
    rule = rule_of(recovery)
    return rule.another_nsaid if nsaid else rule.another


def _over_the_limit(recovery: Recovery, medicine: Medicine, at: dt.datetime) -> bool:
    """Whether what was told of that day is above the hard limit of a day."""
    limit, strength = medicine.hard_limit_mg_per_kg_a_day, medicine.mg_per_ml
    if limit is None or strength is None:
        return False
    day = recovery.case.day(at)
    reports = [each for each in recovery.dose_reports(medicine.drug) if recovery.case.day(each[1]) == day]
    ml = sum((_ml_of(medicine, report, when) for report, when in reports), Fraction(0))
    return ml * exact(strength) / (exact(recovery.case.grams_now) / GRAMS_PER_KG) > exact(limit)


def _ml_of(medicine: Medicine, report: DoseReport, at: dt.datetime) -> Fraction:
    if report.ml is not None:
        return exact(report.ml)
    dose = dose_meant(medicine, at)
    given = report.outcome is DoseOutcome.GIVEN and dose is not None and dose.ml is not None
    return exact(dose.ml) if given and dose is not None and dose.ml is not None else Fraction(0)


def _too_soon(recovery: Recovery, medicine: Medicine) -> Iterator[Mishap]:
    """A second dose inside the shortest spacing."""
    if medicine.every_hours is None:
        return
    least = least_spacing(medicine.every_hours)
    given = [at for report, at in recovery.dose_reports(medicine.drug) if report.outcome is DoseOutcome.GIVEN]
    for earlier, later in pairwise(given):
        if rule_of(recovery).told_twice_within < later - earlier < least:
            level = _another_level(recovery, nsaid=medicine.is_nsaid)
            hours = (later - earlier) / dt.timedelta(hours=1)
            because = (
                f"two doses of {medicine.drug} {hours:.1f} h apart; {least / dt.timedelta(hours=1):g} h is the least"
            )
            yield f"too_soon_{medicine.drug}", level, because, later


def _another(recovery: Recovery, seen: Observation, what: str, planned: set[str]) -> Mishap:
    """Something that is not on the plan. What nobody can name goes to a person as another's medicine would."""
    words = what.casefold()
    if _for_people(recovery, what) - planned:
        return "human_painkiller", rule_of(recovery).grave, f"a painkiller for people was given: {what}", seen.at
    nsaid = any(name in words for name in ANIMAL_NSAIDS)
    level = _another_level(recovery, nsaid=nsaid)
    return "another_medicine", level, f"a medicine that is not on the plan was given: {what}", seen.at


def _for_people(recovery: Recovery, what: str) -> set[str]:
    """The painkillers for people that `what` names, by the protocol's own list and in any language that is read."""
    listed = {drug for drug in rule_of(recovery).for_people if drug in what.casefold()}
    return listed | {each.drug for each in said_in(what, recovery.vocabulary).painkillers}


def _in_words(recovery: Recovery, seen: Observation, planned: set[str]) -> Iterator[Mishap]:
    """What words that nobody has read yet tell of a medicine."""
    said = said_in(seen.text, recovery.vocabulary)
    unread = "an owner's words tell of a mishap with medicine, and nobody has read them yet"
    if said.mishaps:  # which medicine is not known: the worst that it may have been
        nsaid = any(each.is_nsaid for each in recovery.medication)
        level = _another_level(recovery, nsaid=nsaid)
        yield "words_tell_of_a_mishap", level, f"{unread}: “{said.mishaps[0]}”", seen.at
    if said.grave_mishaps:
        yield "words_tell_of_a_grave_mishap", rule_of(recovery).grave, f"{unread}: “{said.grave_mishaps[0]}”", seen.at
    for each in _not_prescribed(said, planned):
        rule = rule_of(recovery)
        level, what = (rule.grave, "was given") if each.given else (rule.another, "is spoken of")
        because = f"a painkiller for people {what} in words that nobody has read yet: “{each.words}”"
        yield "words_name_a_human_painkiller", level, because, seen.at


def _tells_of(recovery: Recovery, seen: Observation, medicine: Medicine) -> bool:
    """Whether unread words tell of a mishap that may be with this medicine: an NSAID, or one that they name."""
    said = said_in(seen.text, recovery.vocabulary)
    wrong = said.mishaps or said.grave_mishaps or any(each.given for each in said.painkillers)
    return bool(wrong) and (medicine.is_nsaid or medicine.drug in seen.text.casefold())


def _not_prescribed(said: Said, planned: set[str]) -> list[Painkiller]:
    """Each drug once, and as given if it is so once."""
    found: dict[str, Painkiller] = {}
    for each in said.painkillers:
        if each.drug not in planned and not (each.drug in found and found[each.drug].given):
            found[each.drug] = each
    return list(found.values())


def _mishap(drug: str, level: Level, words: str, at: dt.datetime) -> Mishap:
    return f"mishap_{drug}", level, f"something went wrong with {drug}: {words}", at
