"""What would have made a finding milder, of rules that are no rows of a protocol: silence, the night, medicine."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import replace

from followup.domain.answers import STRONG_PAIN_SIGNS, Question
from followup.domain.compiled import Medicine
from followup.domain.dose_times import least_spacing
from followup.domain.explanation import Found, Lower
from followup.domain.medicine_rules import medicine_findings
from followup.domain.mishaps import dose_meant
from followup.domain.night import emergency_limit, night_findings, nights
from followup.domain.observation import DoseReport, Observation
from followup.domain.parts import UNWELL
from followup.domain.plain_words import asked, hours_words, on_the_clock
from followup.domain.recovery import Recovery, Release
from followup.domain.rests_on import IN_WORDS
from followup.domain.silence import special_moment, unanswered
from followup.domain.terms import Concern, DoseOutcome, Level, Sign
from followup.domain.verdict import Finding, worst
from followup.domain.what_if import NO_PAIN, NO_VOMIT, WhatIf, added, known_after, that_lower, well

READ = "a person at the practice has read them"


def lower_by_code(found: Found) -> tuple[Lower, ...]:
    """Every condition under which the finding would be milder; empty: nothing that is answered would."""
    by_concern: dict[Concern, Callable[[Found], Iterator[Lower]]] = {
        Concern.SILENCE: _silence,
        Concern.EATING: _before_sleep,
        Concern.MEDICINE: _medicine,
        Concern.WORRY: _worry,
    }
    in_words = found.finding.rule.startswith(IN_WORDS)
    lower = _words if in_words else by_concern.get(found.finding.concern)
    return tuple(lower(found)) if lower is not None else ()


def _words(_found: Found) -> Iterator[Lower]:
    yield Lower(READ, Level.ON_TRACK)


def _worry(found: Found) -> Iterator[Lower]:
    """ "He was not well", said of a silence, stands until the owner is asked anew, or a person has looked."""
    yield Lower(f"a newer answer to “{asked(found.known, Question.WORRIED)}”", Level.ON_TRACK)
    yield Lower("a person has reviewed it", Level.ON_TRACK)


def _silence(found: Found) -> Iterator[Lower]:
    """The check-in that gave the level, and until when it could be answered before it did."""
    known, finding = found.known, found.finding
    for each in unanswered(known, found.now):
        if each.at == finding.since:
            special = special_moment(known, each) if finding.level >= Level.URGENT else None
            until = each.answer_by if special is None else min(each.answer_by, special)
            words = f"an answer about eating by {on_the_clock(known, until)}, whoever gives it; one given now ends it"
            yield Lower(words, Level.ON_TRACK)


def _before_sleep(found: Found) -> Iterator[Lower]:
    known, now = found.known, found.now

    def weigh(was: Recovery) -> Level:
        return _worst(night_findings(was, now), found.finding)

    standing = dict.fromkeys(question for question, answer in UNWELL if known.stands(question, answer))
    looked = known.pain_signs()
    pain = [NO_PAIN] if looked is not None and looked[0] & STRONG_PAIN_SIGNS else []
    dropped = known_after(known, Sign.FAECES, known.case.surgery_ended_at, now)
    planned = [] if known.case.discharge.night_plan else [NIGHT_PLAN]
    ifs = [*_eaten(known, now), *(well(each, known) for each in standing), *pain, dropped, *planned]
    yield from that_lower(known, ifs, weigh, found.finding.level)


def _eaten(known: Recovery, now: dt.datetime) -> Iterator[WhatIf]:
    """An answer that he has eaten; and the times told after which food would last through each night."""
    limit, after = emergency_limit(known), known.rules.steady.before_sleep.until_after_waking
    for night in nights(known) if limit is not None else ():
        enough = night.wakes + after - (limit or dt.timedelta(0))
        if night.decided <= now and enough < now:
            yield known_after(known, Sign.FOOD, enough, now)
    good = Observation(at=now, answers={Question.APPETITE: "normal"})
    yield WhatIf("an answer now that there has been food", lambda was: added(was, good))


def _with_a_night_plan(was: Recovery) -> Recovery:
    return replace(was, case=replace(was.case, discharge=replace(was.case.discharge, night_plan=True)))


NIGHT_PLAN = WhatIf("a night plan in a vet's writing, or a vet's word before sleep", _with_a_night_plan)


def _medicine(found: Found) -> Iterator[Lower]:
    """By the beginning of the rule's code; nothing that is told later undoes a wrong drug or a wrong place."""
    code = found.finding.rule
    for medicine in found.known.medication:
        by_code: dict[str, Callable[[Found, Medicine], Iterator[Lower]]] = {
            f"missed_{medicine.drug}": _missed,
            f"held_{medicine.drug}": _held,
            f"mishap_{medicine.drug}": _mishap,
            f"too_soon_{medicine.drug}": _too_soon,
        }
        if code in by_code:
            yield from by_code[code](found, medicine)


def _missed(found: Found, medicine: Medicine) -> Iterator[Lower]:
    reports = [each for each in found.known.observations if each.dose is not None and each.dose.drug == medicine.drug]
    last = max(reports, key=lambda seen: _of(seen).given_at or seen.at)
    ifs = [WhatIf("the newest of them given", lambda was: _reported(was, last, outcome=DoseOutcome.GIVEN))]
    yield from _weighed(found, ifs)


def _held(found: Found, medicine: Medicine) -> Iterator[Lower]:
    known, now = found.known, found.now
    rule = known.rules.steady.stop_and_call
    against = sorted(rule.facts | rule.facts_later)
    standing = dict.fromkeys(question for question, answer in against if known.stands(question, answer))
    vomits = [NO_VOMIT] if known.vomited() else []
    release = Release(medicine.drug, now)
    told = Observation(at=now, dose=DoseReport(medicine.drug, DoseOutcome.MISSED))
    ifs = [
        *(well(question, known) for question in standing),
        *vomits,
        WhatIf("a vet has released the dose", lambda was: replace(was, releases=(*was.releases, release))),
        WhatIf("that dose told of, given or left out", lambda was: added(was, told)),
    ]
    yield from _weighed(found, ifs)


def _mishap(found: Found, medicine: Medicine) -> Iterator[Lower]:
    """The amount that was planned, and the most that is still under the next limit."""
    for seen in found.known.observations:
        at = None if seen.dose is None else seen.dose.given_at or seen.at
        if seen.dose is None or seen.dose.drug != medicine.drug or at is None or at != found.finding.since:
            continue
        meant = dose_meant(medicine, at)
        if meant is not None and meant.ml:
            limit = float(meant.ml) * float(found.known.rules.steady.mishaps.half_again)
            yield from _weighed(found, [_measured(seen, f"less than {limit:.3g} ml", limit * 0.99)])
            yield from _weighed(found, [_measured(seen, f"{meant.ml:f} ml, as planned", float(meant.ml))])


def _measured(seen: Observation, words: str, ml: float) -> WhatIf:
    return WhatIf(words, lambda was: _reported(was, seen, ml=ml))


def _too_soon(_found: Found, medicine: Medicine) -> Iterator[Lower]:
    if medicine.every_hours is not None:
        least = least_spacing(medicine.every_hours)
        yield Lower(f"{hours_words(least)} or more between the two doses", Level.ON_TRACK)


def _weighed(found: Found, ifs: list[WhatIf]) -> Iterator[Lower]:
    def weigh(was: Recovery) -> Level:
        return _worst(medicine_findings(was, found.now), found.finding)

    yield from that_lower(found.known, ifs, weigh, found.finding.level)


def _worst(findings: Iterator[Finding], finding: Finding) -> Level:
    """Of the same rule; of medicine, of the same moment, since the same may go wrong twice."""
    once = finding.concern is Concern.MEDICINE and finding.rule.startswith("mishap_")
    return worst(each for each in findings if each.rule == finding.rule and (not once or each.since == finding.since))


def _of(seen: Observation) -> DoseReport:
    return seen.dose or DoseReport("", DoseOutcome.GIVEN)


def _reported(
    was: Recovery, seen: Observation, *, outcome: DoseOutcome | None = None, ml: float | None = None
) -> Recovery:
    told = _of(seen)
    other = replace(told, outcome=outcome or told.outcome, ml=told.ml if ml is None else ml)
    return replace(
        was, observations=tuple(replace(each, dose=other) if each is seen else each for each in was.observations)
    )
