"""One observation to and from its JSON. An absent answer stays absent."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from followup.casefile.refusals import moment_json, refuse
from followup.domain.answers import ANSWERS, NO, YES, PainSign, Question, Unsure
from followup.domain.observation import DoseReport, Observation, OtherMedicine, Told
from followup.domain.reading import Table
from followup.domain.terms import DoseOutcome, Observer, Sign

Json = dict[str, object]

WOUND = "wound."
TOLD = {Sign.FOOD: "last_ate_at", Sign.FAECES: "last_faeces_at", Sign.URINE: "last_urine_at"}
"""Which key tells when a sign was last seen."""


UNTIL = "told_until"
"""Beside the keys of the case format, in what a plan keeps: the later end of a time told between two moments."""


def read_observation(values: object, path: str = "$") -> Observation:
    """An observation as a plan keeps it, from parsed JSON. Raises BadCase."""
    table = Table(values, path, refuse)
    until = table.table(UNTIL)
    found = observation_in(table)
    told = {sign: _vague(each, until, TOLD[sign]) for sign, each in found.told.items()}
    until.done()
    return replace(found, told=told)


def observation_in(table: Table) -> Observation:
    """An observation from a table that a case file holds."""
    wound = table.table("wound")
    found = Observation(
        at=table.moment("at"),
        by=table.optional_word("by", Observer) or Observer.OWNER,
        answers=_answers(table, wound),
        told=_told(table),
        not_sure=frozenset(table.words("not_sure", Unsure)),
        pain_signs=frozenset(table.words("pain_signs", PainSign)) if table.has("pain_signs") else None,
        vomits=table.whole("vomits_since_last"),
        weight_g=table.number("weight_g", above=0),
        dose=_dose(table),
        other_medicine=_other_medicine(table),
        text=table.text("text", ""),
        died=table.yes_no("died") or False,
    )
    wound.done()
    table.done()
    return found


def observation_json(seen: Observation) -> Json:
    """The JSON of an observation, in the case format; of a time told between two moments `told_until` is the later."""
    found: Json = {"at": moment_json(seen.at), "by": seen.by.value}
    _put_answers(found, seen)
    found |= {TOLD[sign]: None if told is None else moment_json(told.earliest) for sign, told in seen.told.items()}
    until = {
        TOLD[sign]: moment_json(told.latest)
        for sign, told in seen.told.items()
        if told is not None and told.latest > told.earliest
    }
    if until:
        found[UNTIL] = until
    plain: Json = {
        "not_sure": sorted(seen.not_sure) or None,
        "pain_signs": None if seen.pain_signs is None else sorted(seen.pain_signs),
        "vomits_since_last": seen.vomits,
        "weight_g": seen.weight_g,
        "dose": _dose_json(seen.dose),
        "other_medicine": _other_json(seen.other_medicine),
        "text": seen.text or None,
        "died": seen.died or None,
    }
    return found | {key: value for key, value in plain.items() if value is not None}


def _answers(table: Table, wound: Table) -> dict[Question, str]:
    found = {}
    for question, known in ANSWERS.items():
        inner, key = (wound, question.removeprefix(WOUND)) if question.startswith(WOUND) else (table, question.value)
        if inner.has(key):
            found[question] = _answer(inner, key, known)
    return found


def _answer(table: Table, key: str, known: tuple[str, ...]) -> str:
    if known == (NO, YES):
        return YES if table.yes_no(key) else NO
    answer = table.text(key)
    if answer not in known:
        raise table.wrong(key, f"must be one of {', '.join(known)}")
    return answer


def _told(table: Table) -> dict[Sign, Told | None]:
    found: dict[Sign, Told | None] = {}
    for sign, key in TOLD.items():
        if table.has(key):
            moment = table.optional_moment(key)
            found[sign] = None if moment is None else Told.exactly(moment)
    return found


def _vague(told: Told | None, until: Table, key: str) -> Told | None:
    if told is None or not until.has(key):
        return told
    latest = until.moment(key)
    if latest < told.earliest:
        raise until.wrong(key, "is before the time that it ends")
    return Told(told.earliest, latest)


def _dose(table: Table) -> DoseReport | None:
    if not table.has("dose"):
        return None
    inner = table.table("dose")
    ml = inner.number("ml")
    if ml is not None and ml < 0:
        raise inner.wrong("ml", "must not be negative")
    found = DoseReport(
        drug=inner.text("drug").strip().lower(),
        outcome=inner.word("outcome", DoseOutcome),
        given_at=inner.moment("given_at") if inner.has("given_at") else None,
        ml=ml,
        route_wrong=inner.yes_no("route_wrong") or False,
    )
    inner.done()
    return found


def _other_medicine(table: Table) -> OtherMedicine | None:
    if not table.has("other_medicine"):
        return None
    inner = table.table("other_medicine")
    at: dt.datetime | None = inner.moment("at") if inner.has("at") else None
    found = OtherMedicine(what=inner.text("what"), amount=inner.text("amount", ""), at=at)
    inner.done()
    return found


def _put_answers(found: Json, seen: Observation) -> None:
    wound: Json = {}
    for question, answer in seen.answers.items():
        value: object = answer == YES if ANSWERS[question] == (NO, YES) else answer
        if question.startswith(WOUND):
            wound[question.removeprefix(WOUND)] = value
        else:
            found[question.value] = value
    if wound:
        found["wound"] = wound


def _dose_json(dose: DoseReport | None) -> Json | None:
    if dose is None:
        return None
    found: Json = {"drug": dose.drug, "outcome": dose.outcome.value}
    if dose.given_at is not None:
        found["given_at"] = moment_json(dose.given_at)
    if dose.ml is not None:
        found["ml"] = dose.ml
    if dose.route_wrong:
        found["route_wrong"] = True
    return found


def _other_json(other: OtherMedicine | None) -> Json | None:
    if other is None:
        return None
    found: Json = {"what": other.what}
    if other.amount:
        found["amount"] = other.amount
    if other.at is not None:
        found["at"] = moment_json(other.at)
    return found
