"""A verdict as text for people at a terminal: the level, what to do by when, why, what is not known, what comes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from followup.domain.bounds import HOUR, Bounds
from followup.domain.case import Case
from followup.domain.caution import CAUTION
from followup.domain.explanation import Changes, Explained, Explanation, Ground, Moved, OnBoard
from followup.domain.plain_words import SIGN_WORDS
from followup.domain.terms import Heard, Level
from followup.domain.verdict import Finding, Signals, Verdict

HEARD = {
    Heard.HEARD: "heard from since {}",
    Heard.WAITING: "an answer is waited for since {}",
    Heard.NOT_HEARD_FROM: "not heard from since {}",
}


def table(case: Case, verdict: Verdict, explanation: Explanation) -> str:
    """Everything in the verdict and its explanation, on the owner's clock."""
    why = _why(case, verdict, explanation)
    changed = _changed(case, explanation.changes)
    known = _known(verdict, explanation)
    return "\n".join([*_head(case, verdict, explanation), *why, *changed, *known, *_ahead(case, verdict), "", CAUTION])


def _when(case: Case, moment: dt.datetime) -> str:
    return f"{case.hours.local(moment):%a %d %b, %H:%M}"


def _head(case: Case, verdict: Verdict, explanation: Explanation) -> Iterator[str]:
    name = f"{case.patient.name}, " if case.patient.name else ""
    species, procedure = case.patient.species.value.replace("_", " "), case.procedure.value.replace("_", " ")
    to_do = explanation.to_do
    by = "" if to_do.by is None else f", by {_when(case, to_do.by)}"
    yield f"{_level(verdict.level.word)} on {_when(case, verdict.at)}"
    yield f"{name}{species}, {procedure}; {verdict.protocol}; times in {case.hours.zone.key}"
    yield f"to do: {to_do.what}{by} ({to_do.who})"
    yield HEARD[verdict.heard.state].format(_when(case, verdict.heard.since))
    if verdict.paused:
        yield f"nothing is sent to the owner: {verdict.paused.replace('_', ' ')}"


def _level(word: str) -> str:
    return word.replace("_", " ").upper()


def _why(case: Case, verdict: Verdict, explanation: Explanation) -> Iterator[str]:
    yield "\nWhy, worst first" if verdict.findings else "\nNothing that is known worries us"
    for each, explained in zip(verdict.findings, explanation.findings, strict=True):
        yield from _reason(each)
        yield from (f"      {line}" for line in _explained(case, explained))


def _reason(each: Finding) -> Iterator[str]:
    yield f"  {_level(each.level.word)}, {each.certainty.value}: {each.because}"
    yield f"      rule {each.rule}, {each.concern.value}; source: {each.source}"


def _explained(case: Case, each: Explained) -> Iterator[str]:
    yield f"the rule: {each.rule}"
    yield from (f"rests on: {_ground(case, ground)}" for ground in each.grounds)
    yield from (f"lower if: {lower.words}: {_left(lower.level)}" for lower in each.lower)
    if each.nothing_lowers:
        yield f"lower if: {each.nothing_lowers}"
    yield from (f"on board: {_drug(case, drug)}" for drug in each.drugs)


def _left(level: Level) -> str:
    return f"would {'raise nothing' if level is Level.ON_TRACK else f'be {level.word}'}"


def _ground(case: Case, ground: Ground) -> str:
    when = "" if ground.at is None else f" ({_when(case, ground.at)}{f', {ground.by}' if ground.by else ''})"
    return f"{ground.question}: {ground.answer}{when}"


def _drug(case: Case, drug: OnBoard) -> str:
    hours = f"{drug.within / HOUR:g} h"
    return (
        f"{drug.drug}, {drug.given}, {_when(case, drug.at)}: {drug.explains}, within {hours}; it lowers nothing "
        f"({drug.source.mark.value}: {drug.source.text})"
    )


def _changed(case: Case, changes: Changes | None) -> Iterator[str]:
    if changes is None:
        return
    yield f"\nWhat the newest answer changed, {_when(case, changes.since)}"
    yield f"  level: {_from_to(changes.was, changes.now)}"
    yield from (f"  {_moved(each)}: {each.because}" for each in changes.findings)


def _from_to(was: Level, now: Level) -> str:
    return f"{was.word} to {now.word}" if was is not now else f"{now.word}, as before"


def _moved(each: Moved) -> str:
    if each.was is None or each.now is None:
        return f"new, {each.now.word}" if each.now is not None else "gone"
    return f"{'raised' if each.now > each.was else 'eased'} from {each.was.word} to {each.now.word}"


def _known(verdict: Verdict, explanation: Explanation) -> Iterator[str]:
    yield "\nKnown"
    yield from (f"  {what}: {value}" for what, value in _quantities(verdict.signals) if value)
    if explanation.unknown:
        yield "Not known"
        yield from (f"  {what}" for what in explanation.unknown)


def _quantities(signals: Signals) -> Iterator[tuple[str, str]]:
    yield "hours since surgery", f"{signals.since_surgery / HOUR:.4g}"
    yield "hours since last heard", f"{signals.since_last_heard / HOUR:.4g}"
    for sign, words in SIGN_WORDS.items():
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
