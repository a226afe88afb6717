"""Any recovery that could be: strategies for hypothesis, over all species, operations and answers, and over the order
in which an answer is worse than another.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from followup.domain.answers import ANSWERS, PainSign, Question, Unsure
from followup.domain.case import Case, DischargeCard, GivenInClinic, VetSaid
from followup.domain.hours import OwnerHours
from followup.domain.observation import Observation, Told
from followup.domain.recovery import Recovery
from followup.domain.terms import Closure, Procedure, Sign, Species
from tests.domain.every_case import case_of
from tests.domain.triage_cases import recovery

MINUTE = dt.timedelta(minutes=1)
DAYS_14 = 14 * 24 * 60
STARTS = ("2025-03-10 10:30", "2025-03-29 10:30", "2025-10-25 10:30")
"""An ordinary day, and the days before both clock changes in Europe."""

CHAINS: dict[Question, tuple[tuple[str, ...], ...]] = {
    **{question: (tuple(each for each in answers if each != "not_checked"),) for question, answers in ANSWERS.items()},
    Question.DRINKING: (("normal", "less", "none"), ("normal", "more")),
    Question.FAECES: (("normal", "fewer", "none"), ("normal", "soft", "diarrhoea")),
    Question.URINE: (("normal", "little", "none"), ("normal", "bloody"), ("normal", "straining")),
    Question.GUMS: (("pink", "pale"), ("pink", "blue")),
    # Kinds of trouble rather than degrees of one: a rolling animal is worse than one with weak hind legs, and a patient
    # without a collar or with no stitches to see is well.
    Question.BALANCE: (("normal", "wobbly", "head_tilt", "rolling"), ("normal", "wobbly", "hind_legs_weak")),
    Question.COLLAR: (("on", "off_by_itself"), ("on", "cannot_eat_or_drink"), ("on", "rubbing")),
    Question.STITCHES: (("all_there", "some_missing"),),
    Question.COMPANY: (("as_planned", "fighting", "licks_wound"), ("as_planned", "alone_and_calling")),
}
"""Each chain from the mildest answer to the worst. Source: clinical defaults, 4."""

AFTER_A_DENTAL = {Question.MOUTH: (("normal", "wet_chin"), ("normal", "drops_food", "bleeding"))}
"""Food falls from the mouth for two days after a dental, while a wet chin never belongs there: the row goes first."""


def chains(case: Case, question: Question) -> tuple[tuple[str, ...], ...]:
    """The orders of the answers to `question` for this patient."""
    own = AFTER_A_DENTAL if case.procedure is Procedure.DENTAL else {}
    return own.get(question, CHAINS[question])


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A patient of any species after any operation, in London, with or without what changes a rule."""
    procedure = draw(st.sampled_from(list(Procedure)))
    start = dt.datetime.fromisoformat(draw(st.sampled_from(STARTS))).replace(tzinfo=ZoneInfo("Europe/London"))
    ended = start.astimezone(dt.UTC)
    plain = case_of(draw(st.sampled_from(list(Species))), procedure, age_months=draw(st.sampled_from([2, 12, 48])))
    minutes = st.one_of(st.none(), st.integers(0, 330))
    before = [None if gone is None else ended + gone * MINUTE for gone in draw(st.tuples(minutes, minutes, minutes))]
    given = draw(st.sampled_from([(), ("meloxicam",), ("buprenorphine",), ("meloxicam", "buprenorphine")]))
    owner_hours = draw(
        st.sampled_from([(dt.time(7), dt.time(22)), (dt.time(5, 30), dt.time(21)), (dt.time(9), dt.time(1))])
    )
    spoke = draw(st.one_of(st.none(), st.tuples(st.integers(400, 3000), st.integers(60, 1200))))
    said = () if spoke is None else (VetSaid(ended + spoke[0] * MINUTE, ended + sum(spoke) * MINUTE),)
    return replace(
        plain,
        surgery_ended_at=ended,
        discharged_at=ended + 6 * 60 * MINUTE,
        hours=OwnerHours(ZoneInfo("Europe/London"), *owner_hours),
        given_in_clinic=tuple(GivenInClinic(each, ended, mg_per_kg=0.1) for each in given),
        discharge=DischargeCard(
            closure=draw(st.sampled_from([None, Closure.BURIED, Closure.LEFT_OPEN])),
            night_plan=draw(st.sampled_from([None, True])),
        ),
        vet_said=said,
        last_ate_before_discharge_at=before[0],
        last_faeces_before_discharge_at=before[1],
        last_urine_before_discharge_at=before[2],
    )


@st.composite
def looks(draw: st.DrawFn, case: Case, latest: int = DAYS_14) -> Observation:
    """One look at the animal: some answers, doubts, signs of pain, times told."""
    at = case.surgery_ended_at + draw(st.integers(0, latest)) * MINUTE
    questions = draw(st.lists(st.sampled_from(list(Question)), max_size=5, unique=True))
    eating = draw(st.lists(st.sampled_from([Question.APPETITE, Question.FAECES, Question.URINE]), unique=True))
    ago = st.one_of(st.none(), st.integers(0, 1500).map(lambda minutes: Told.exactly(at - minutes * MINUTE)))
    return Observation(
        at=at,
        answers={each: draw(st.sampled_from(ANSWERS[each])) for each in {*questions, *eating}},
        told={each: draw(ago) for each in draw(st.lists(st.sampled_from(list(Sign)[:1]), unique=True))},
        not_sure=draw(st.frozensets(st.sampled_from(list(Unsure)), max_size=2)),
        pain_signs=draw(st.one_of(st.none(), st.frozensets(st.sampled_from(list(PainSign)), max_size=3))),
        vomits=draw(st.sampled_from([None, None, 0, 1, 2])),
        weight_g=draw(st.sampled_from([None, None, *(case.patient.weight_g * share for share in (0.99, 0.94, 0.89))])),
    )


@st.composite
def recoveries(draw: st.DrawFn, most: int = 5, latest: int = DAYS_14) -> Recovery:
    """A recovery with some looks at any time, the first days most of all."""
    case = draw(cases())
    early = draw(st.lists(looks(case, 3 * 24 * 60), max_size=most, unique_by=lambda seen: seen.at))
    late = draw(st.lists(looks(case, latest), max_size=2, unique_by=lambda seen: seen.at))
    taken = {seen.at for seen in early}
    return recovery(case, [*early, *(seen for seen in late if seen.at not in taken)])


def moments(whole: Recovery, latest: int = DAYS_14) -> st.SearchStrategy[dt.datetime]:
    """A `now` from discharge on."""
    return st.integers(6 * 60, latest).map(lambda minutes: whole.case.surgery_ended_at + minutes * MINUTE)


def every_worse(case: Case, seen: Observation) -> Iterator[tuple[str, Observation]]:
    """Each way in which one thing in `seen` may be worse, named."""
    yield from _worse_answers(case, seen)
    yield from _worse_signs(seen)
    yield from _earlier_times(seen)


def _worse_answers(case: Case, seen: Observation) -> Iterator[tuple[str, Observation]]:
    for question, answer in seen.answers.items():
        for chain in chains(case, question):
            for worse in chain[chain.index(answer) + 1 :] if answer in chain else ():
                yield f"{question} {answer} to {worse}", replace(seen, answers={**seen.answers, question: worse})


def _worse_signs(seen: Observation) -> Iterator[tuple[str, Observation]]:
    if seen.pain_signs is not None:
        yield from ((f"also {sign}", replace(seen, pain_signs=seen.pain_signs | {sign})) for sign in PainSign)
    if seen.vomits is not None:
        yield "one more vomit", replace(seen, vomits=seen.vomits + 1)
    if seen.weight_g is not None:
        yield "lighter", replace(seen, weight_g=seen.weight_g * 0.9)


def _earlier_times(seen: Observation) -> Iterator[tuple[str, Observation]]:
    for sign, told in seen.told.items():
        for earlier in (7, 90, 700):
            if told is None:
                continue
            moved = Told.exactly(told.earliest - earlier * MINUTE)
            yield f"{sign} last {earlier} minutes earlier", replace(seen, told={**seen.told, sign: moved})
