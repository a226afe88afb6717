"""A verdict as text for people at a terminal: the level, why, what is known and not, and what comes by time alone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.bounds import HOUR, Bounds
from followup.domain.case import Case
from followup.domain.terms import Heard, Sign
from followup.domain.verdict import Finding, Signals, Verdict
from followup.management.plan_table import CAUTION

SIGNS = {Sign.FOOD: "food", Sign.MEAL: "a proper meal", Sign.FAECES: "droppings", Sign.URINE: "urine"}
HEARD = {
    Heard.HEARD: "heard from since {}",
    Heard.WAITING: "an answer is waited for since {}",
    Heard.NOT_HEARD_FROM: "not heard from since {}",
}


def table(case: Case, verdict: Verdict) -> str:
    """Everything in the verdict, on the owner's clock."""
    return "\n".join([*_head(case, verdict), *_why(verdict), *_known(verdict), *_ahead(case, verdict), "", CAUTION])


def _when(case: Case, moment: dt.datetime) -> str:
    return f"{case.hours.local(moment):%a %d %b, %H:%M}"


def _head(case: Case, verdict: Verdict) -> Iterator[str]:
    name = f"{case.patient.name}, " if case.patient.name else ""
    species, procedure = case.patient.species.value.replace("_", " "), case.procedure.value.replace("_", " ")
    yield f"{_level(verdict.level.word)} on {_when(case, verdict.at)}"
    yield f"{name}{species}, {procedure}; {verdict.protocol}; times in {case.hours.zone.key}"
    yield HEARD[verdict.heard.state].format(_when(case, verdict.heard.since))
    if verdict.paused:
        yield f"nothing is sent to the owner: {verdict.paused.replace('_', ' ')}"


def _level(word: str) -> str:
    return word.replace("_", " ").upper()


def _why(verdict: Verdict) -> Iterator[str]:
    yield "\nWhy, worst first" if verdict.findings else "\nNothing that is known worries us"
    for each in verdict.findings:
        yield from _reason(each)


def _reason(each: Finding) -> Iterator[str]:
    yield f"  {_level(each.level.word)}, {each.certainty.value}: {each.because}"
    yield f"      rule {each.rule}, {each.concern.value}; source: {each.source}"


def _known(verdict: Verdict) -> Iterator[str]:
    known = dict(_quantities(verdict.signals))
    yield "\nKnown"
    yield from (f"  {what}: {value}" for what, value in known.items() if value)
    unknown = [what for what, value in known.items() if not value]
    if unknown:
        yield "Not known"
        yield from (f"  {what}" for what in unknown)


def _quantities(signals: Signals) -> Iterator[tuple[str, str]]:
    yield "hours since surgery", f"{signals.since_surgery / HOUR:.4g}"
    yield "hours since last heard", f"{signals.since_last_heard / HOUR:.4g}"
    for sign, words in SIGNS.items():
        yield f"hours without {words}", _span(signals.without.get(sign))
    change, count = signals.weight_change_pct, signals.pain_sign_count
    yield "change of weight since discharge", "" if change is None else f"{change:+.4g} %"
    yield "signs of pain when last looked for", "" if count is None else str(count)
    yield "doses of one drug missed running", str(signals.doses_missed_running)
    yield "check-ins unanswered running", str(signals.check_ins_unanswered_running)


def _span(bounds: Bounds | None) -> str:
    if bounds is None:
        return ""
    at_least, at_most = bounds.in_hours()
    return f"{at_least:g}" if at_least == at_most else f"{at_least:g} to {at_most:g}"


def _ahead(case: Case, verdict: Verdict) -> Iterator[str]:
    yield "\nIf nothing more is heard"
    if verdict.look_again_at is None:
        yield "  the level does not rise by itself"
    else:
        yield f"  the level rises on {_when(case, verdict.look_again_at)}"
    if verdict.ask is not None:
        yield f"  asked next on {_when(case, verdict.ask.at)}: {', '.join(verdict.ask.questions)}"
    if verdict.held_drugs:
        yield f"  held until a vet decides: {', '.join(verdict.held_drugs)}"
