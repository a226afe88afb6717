"""Short ways to write a recovery and what an owner answers, for the triage tests."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import cache
from typing import Any

from followup.domain.answers import PainSign, Question, Unsure
from followup.domain.case import Case
from followup.domain.observation import Observation, Told
from followup.domain.plan import compile_plan
from followup.domain.protocol import Protocol
from followup.domain.recovery import Recovery
from followup.domain.terms import Sign
from followup.domain.triage import triage
from followup.domain.verdict import Verdict
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from followup.vocabulary.load import vocabulary
from tests.recoveries import LONDON, at

DAY = "2025-03-"


def when(text: str) -> dt.datetime:
    """'10 18:30': the 10th of March 2025, on the owner's clock."""
    return at(DAY + text)


@cache
def protocol(name: str) -> Protocol:
    return load(name)


def recovery(case: Case, observations: Sequence[Observation] = ()) -> Recovery:
    found = protocol(f"{case.patient.species}_{case.procedure}")
    plan = compile_plan(case, found, formulary())
    return Recovery.of(
        case=case,
        rules=found.rules,
        pinned=found.pinned,
        vocabulary=vocabulary(),
        check_ins=plan.check_ins,
        medication=plan.medication,
        observations=observations,
    )


def verdict(case: Case, observations: Sequence[Observation], now: str) -> Verdict:
    return triage(recovery(case, observations), when(now))


def seen(  # noqa: PLR0913 - one look has this many parts
    text: str,
    *,
    ate: str | None = None,
    dropped: str | None = None,
    passed: str | None = None,
    unsure: Sequence[str] = (),
    pain: Sequence[str] | None = None,
    weight: float | None = None,
    vomits: int | None = None,
    **answers: Any,
) -> Observation:
    """What an owner saw at `text`; wound answers as wound_edges="closed"."""
    told = {Sign.FOOD: ate, Sign.FAECES: dropped, Sign.URINE: passed}
    return Observation(
        at=when(text),
        answers={Question(key.replace("wound_", "wound.")): value for key, value in answers.items()},
        told={sign: Told.exactly(when(time)) for sign, time in told.items() if time is not None},
        not_sure=frozenset(Unsure(each) for each in unsure),
        pain_signs=None if pain is None else frozenset(PainSign(each) for each in pain),
        weight_g=weight,
        vomits=vomits,
    )


def clock(moment: dt.datetime | None) -> str | None:
    """An instant as the owner's clock shows it: '10 21:00'."""
    return None if moment is None else f"{moment.astimezone(LONDON):%d %H:%M}"
