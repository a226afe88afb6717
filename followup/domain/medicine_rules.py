"""Rules about medicine: doses missed twice running, and a dose that must wait for a vet.

Source: clinical defaults, 4.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.answers import Question
from followup.domain.compiled import Medicine, PlannedDose
from followup.domain.mishaps import dose_meant, drugs_gone_wrong, mishap_findings
from followup.domain.recovery import Recovery
from followup.domain.terms import Certainty, Concern, DoseOutcome
from followup.domain.verdict import Finding

MISSED = frozenset({DoseOutcome.MISSED, DoseOutcome.REFUSED, DoseOutcome.SPAT_OUT, DoseOutcome.VOMITED})


WORDS = {
    (Question.APPETITE, "none"): "eating nothing",
    (Question.APPETITE, "a_few_bites"): "eating only a few bites",
    (Question.FAECES, "diarrhoea"): "diarrhoea",
    (Question.DRINKING, "more"): "drinking more",
    (Question.DEMEANOUR, "dull"): "being dull",
    (Question.DEMEANOUR, "collapsed"): "being collapsed",
}
"""The usual signs, as a sentence needs them."""


def medicine_findings(recovery: Recovery, now: dt.datetime) -> Iterator[Finding]:
    """What doses, and doses to come, give now."""
    for medicine in recovery.medication:
        yield from _missed(recovery, medicine)
        yield from _held(recovery, medicine, now)
    yield from mishap_findings(recovery)


def missed_running(recovery: Recovery, drug: str) -> int:
    """How many reported doses of `drug`, up to the newest, were not taken."""
    running = 0
    for report, _ in recovery.dose_reports(drug):
        running = running + 1 if report.outcome in MISSED else 0
    return running


def held_drugs(recovery: Recovery, now: dt.datetime) -> tuple[str, ...]:
    """The drugs whose reminders wait until a vet decides: signs against an NSAID, or something that went wrong."""
    held = {
        medicine.drug
        for medicine in recovery.medication
        if _signs_against(recovery, medicine) and open_dose(recovery, medicine, now) is not None
    }
    return tuple(sorted(held | drugs_gone_wrong(recovery)))


def dose_moments(recovery: Recovery) -> Iterator[dt.datetime]:
    """When each NSAID dose begins to be weighed against the signs."""
    for medicine in recovery.medication:
        if medicine.is_nsaid:
            yield from (dose.at - recovery.rules.steady.stop_and_call.before for dose in medicine.doses)


def _missed(recovery: Recovery, medicine: Medicine) -> Iterator[Finding]:
    rule, running = recovery.rules.steady.not_taken, missed_running(recovery, medicine.drug)
    if running >= rule.running:
        yield Finding(
            rule=f"missed_{medicine.drug}",
            concern=Concern.MEDICINE,
            level=rule.level,
            certainty=Certainty.CERTAIN,
            because=f"{running} doses of {medicine.drug} running were not taken",
            source=rule.source.text,
            since=recovery.dose_reports(medicine.drug)[-1][1],
        )


def _held(recovery: Recovery, medicine: Medicine, now: dt.datetime) -> Iterator[Finding]:
    signs = _signs_against(recovery, medicine)
    dose = open_dose(recovery, medicine, now) if signs else None
    if dose is None:
        return
    rule = recovery.rules.steady.stop_and_call
    due = recovery.case.hours.local(dose.at)
    until = recovery.case.hours.local(dose.give_until)
    yield Finding(
        rule=f"held_{medicine.drug}",
        concern=Concern.MEDICINE,
        level=rule.level,
        certainty=Certainty.CERTAIN,
        because=f"{medicine.drug} of {due:%a %H:%M} is held, because of {', '.join(dict.fromkeys(signs))}: "
        f"a vet decides before {until:%a %H:%M}",
        source=rule.source.text,
        time_alone=True,
        since=dose.at - rule.before,
    )


def open_dose(recovery: Recovery, medicine: Medicine, now: dt.datetime) -> PlannedDose | None:
    """The newest dose that is being weighed and that nobody has reported."""
    meant = [dose_meant(medicine, at) for _, at in recovery.dose_reports(medicine.drug)]
    reported = {dose.number for dose in meant if dose is not None}
    before = recovery.rules.steady.stop_and_call.before
    weighed = [dose for dose in medicine.doses if dose.at - before <= now and dose.number not in reported]
    return weighed[-1] if weighed else None


def _signs_against(recovery: Recovery, medicine: Medicine) -> list[str]:
    """The standing signs under which an NSAID waits for a vet, in words; those that a vet has weighed are left out."""
    if not medicine.is_nsaid:
        return []
    released = recovery.released_at(medicine.drug)
    return [words for words, at in _against_an_nsaid(recovery) if released is None or at > released]


def _against_an_nsaid(recovery: Recovery) -> Iterator[tuple[str, dt.datetime]]:
    """Each standing sign against an NSAID, in words, and when it was last seen."""
    rule = recovery.rules.steady.stop_and_call
    for question, answer in sorted(rule.facts):
        yield from ((_sign(question, answer), seen.at) for seen in recovery.standing(question) if seen.answer == answer)
    vomited = recovery.vomiting()
    if rule.vomiting and vomited is not None and vomited[0] > 0:
        yield "vomiting", vomited[1]
    for question, answer in sorted(rule.facts_later):
        for seen in recovery.standing(question):
            if seen.answer == answer and recovery.case.since_surgery(seen.at) >= rule.later_from:
                yield _sign(question, answer), seen.at


def _sign(question: Question, answer: str) -> str:
    return WORDS.get((question, answer), f"{question.value.replace('_', ' ')}: {answer.replace('_', ' ')}")
