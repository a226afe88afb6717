"""What a verdict does not know: so that nobody reads silence as good news. Unknown is not normal, and not zero."""

from __future__ import annotations

from collections.abc import Iterator

from followup.domain.answers import Unsure
from followup.domain.bounds import NOTHING, Bounds
from followup.domain.clocks import clock_of
from followup.domain.observation import Observation
from followup.domain.plain_words import SIGN_WORDS, asked, on_the_clock
from followup.domain.questions import QUESTIONS
from followup.domain.recovery import NOT_AN_ANSWER, Recovery
from followup.domain.rules import Applies
from followup.domain.silence import EARLY_ANSWER, NOT_TRIAGED, unanswered
from followup.domain.terms import GRAZERS, SMALL_MAMMALS, Procedure, RingOrTunic, Sign
from followup.domain.verdict import Verdict

UNSURE_OF = {"weight_g": Unsure.WEIGHT, **{each.key: each.unsure for each in QUESTIONS.values() if each.unsure}}
HAD = {Sign.FOOD: "ate", Sign.FAECES: "left droppings", Sign.URINE: "passed urine"}
"""Without the meal, which is known as food is."""

NEED_NO_ANSWER = frozenset({"text", "last_ate_at", "last_faeces_at", "last_urine_at"})
"""Words need not be written; the times are among the hours without."""


def not_known(known: Recovery, verdict: Verdict) -> tuple[str, ...]:
    """Everything that is unknown and that a rule would read, each in one line."""
    return (*_signals(known, verdict), *_last_check_in(known, verdict), *_clinic(known), *_card(known))


def _signals(known: Recovery, verdict: Verdict) -> Iterator[str]:
    signals = verdict.signals
    for sign, had in HAD.items():
        bounds = signals.without.get(sign)
        if bounds is None or clock_of(known, sign).nothing_known:
            yield f"when it last {had}: nothing is known since the end of surgery"
        elif not _settled(bounds):
            low, high = bounds.in_hours()
            yield f"how long without {SIGN_WORDS[sign]}: anything from {low:g} to {high:g} h"
    if signals.weight_change_pct is None:
        yield "weight since discharge"
    if signals.pain_sign_count is None:
        yield "signs of pain: nobody has looked for them"


def _settled(bounds: Bounds) -> bool:
    return bounds.at_most - bounds.at_least == NOTHING


def _last_check_in(known: Recovery, verdict: Verdict) -> Iterator[str]:
    """What the newest check-in asked and did not get."""
    put = [each for each in known.check_ins if each.at <= verdict.at and each.kind not in NOT_TRIAGED]
    if not put:
        return
    last = put[-1]
    if last in unanswered(known, verdict.at):
        yield f"everything that the check-in of {on_the_clock(known, last.at)} asks: no answer"
        return
    looks = [seen for seen in known.observations if seen.at >= last.at - EARLY_ANSWER]
    yield from (f"“{asked(known, key)}”: {how}" for key in last.questions if (how := _missing(looks, key)))


def _missing(looks: list[Observation], key: str) -> str:
    if key in NEED_NO_ANSWER or any(_answers(seen, key) for seen in looks):
        return ""
    unsure = UNSURE_OF.get(key)
    return "not sure" if any(unsure in seen.not_sure for seen in looks) else "not answered"


def _answers(seen: Observation, key: str) -> bool:
    if key == "pain_signs":
        return seen.pain_signs is not None
    if key == "weight_g":
        return seen.weight_g is not None
    given = {question.value: answer for question, answer in seen.answers.items() if answer != NOT_AN_ANSWER}
    return key in given or (key == "wound" and any(each.startswith("wound.") for each in given))


def _clinic(known: Recovery) -> Iterator[str]:
    given = known.case.given_in_clinic
    if given is None:
        yield "which drugs the clinic gave"
    for each in given or ():
        if each.mg_per_kg is None:
            yield f"how much {each.drug} the clinic gave"
    if known.case.home_medication is None:
        yield "what was prescribed for home"


def _card(known: Recovery) -> Iterator[str]:
    """What nobody wrote on the discharge card and a rule or a check-in reads, with what it counts as."""
    card, rules = known.case.discharge, known.rules.all()
    named = [each for rule in rules for each in (rule.only, rule.unless) if each is not None]
    if card.closure is None and _read(named, "closures"):
        yield "how the skin was closed: counts as closed"
    if card.approach is None and _read(named, "approaches"):
        yield "where the surgeon went in"
    castrated = known.case.procedure is Procedure.CASTRATION and known.species in SMALL_MAMMALS
    if castrated and card.ring_or_tunic in {None, RingOrTunic.UNKNOWN}:
        yield "whether the ring or tunic was closed: counts as open, so the groin is asked about every time"
    if card.night_plan is None and known.species in GRAZERS:
        yield "whether a vet wrote a night plan: counts as none"
    if known.case.patient.age_months is None and any(rule.sooner is not None for rule in known.rules.clocks):
        yield "its age: counts as adult, and not old"


def _read(named: list[Applies], what: str) -> bool:
    return any(each.closures if what == "closures" else each.approaches for each in named)
