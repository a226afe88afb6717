"""The rules of triage, read from a protocol's tables."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TypedDict

from followup.domain.answers import PainSign, Question, Unsure
from followup.domain.course import WeightBands
from followup.domain.drug_groups import DrugGroup
from followup.domain.phrases import spellings
from followup.domain.pictures import PICTURES
from followup.domain.reading import Table
from followup.domain.rules import (
    AnswerRule,
    Applies,
    ClockRule,
    Limits,
    PainRule,
    PictureRule,
    Rules,
    Sooner,
    Step,
    UnsureRule,
    VomitRule,
    WeightRule,
    WordRule,
)
from followup.domain.sources import Fact, Source
from followup.domain.terms import Approach, Closure, Concern, Level, Procedure, Sign
from followup.domain.vocabulary import LifeSign
from followup.protocols.parse_steady import VOMITING, fact_in, known_answer, level_in
from followup.protocols.refusals import refuse_in, source_of

LEVELS = (Level.MONITOR, Level.URGENT, Level.EMERGENCY)


class Common(TypedDict):
    """What every rule carries."""

    code: str
    concern: Concern
    because: str
    source: Source
    only: Applies
    unless: Applies | None


def parse_rules(tables: Mapping[str, object], where: str) -> Rules:
    """The rules in `tables`; `where` names the file in a refusal. Raises BadProtocol."""
    whole = Table(dict(tables), "$", refuse_in(where))
    found = Rules(
        answers=tuple(_answer(table) for table in whole.tables("answer")),
        pain=tuple(_pain(table) for table in whole.tables("pain")),
        vomits=tuple(_vomits(table) for table in whole.tables("vomits")),
        unsure=tuple(_not_sure(table) for table in whole.tables("not_sure")),
        clocks=tuple(_clock(table) for table in whole.tables("clock")),
        pictures=tuple(_picture(table) for table in whole.tables("picture")),
        words=tuple(_words(table) for table in whole.tables("words")),
    )
    whole.done()
    return found


def weight_rule(bands: WeightBands) -> WeightRule:
    """The rule that the plan's weight bands make."""
    shares = ((Level.MONITOR, bands.monitor), (Level.URGENT, bands.urgent), (Level.EMERGENCY, bands.emergency))
    return WeightRule(
        code="weight_loss",
        concern=Concern.WEIGHT,
        because="has lost weight",
        source=bands.source,
        bands=tuple((level, float(share)) for level, share in shares if share is not None),
    )


def _answer(table: Table) -> AnswerRule:
    common = _common(table)
    question = table.word("question", Question)
    beside = table.texts("with")
    found = AnswerRule(
        **common,
        question=question,
        answers=frozenset(known_answer(table, "answers", question, each) for each in table.texts("answers")),
        steps=_steps(table),
        together_with=facts_of(table, "with", beside),
        or_vomiting=VOMITING in beside,
        twice_running=bool(table.yes_no("twice_running")),
        apart=_hours(table, "hours_apart") if table.has("hours_apart") else dt.timedelta(0),
        at_work=table.word("at_work", DrugGroup) if table.has("at_work") else None,
        stays=bool(table.yes_no("stays")),
    )
    table.done()
    return found


def _pain(table: Table) -> PainRule:
    found = PainRule(
        **_common(table),
        signs=frozenset(table.words("signs", PainSign)),
        at_least=table.needed_whole("at_least", least=1),
        steps=_steps(table),
    )
    table.done()
    return found


def _vomits(table: Table) -> VomitRule:
    found = VomitRule(**_common(table), at_least=table.needed_whole("at_least", least=1), steps=_steps(table))
    table.done()
    return found


def _not_sure(table: Table) -> UnsureRule:
    found = UnsureRule(
        **_common(table),
        topic=table.word("topic", Unsure),
        at_least=table.needed_whole("at_least", least=1),
        steps=_steps(table),
    )
    table.done()
    return found


def _clock(table: Table) -> ClockRule:
    found = ClockRule(
        **_common(table),
        sign=table.word("sign", Sign),
        windows=_windows(table),
        sooner=_sooner(table.table("sooner")) if table.has("sooner") else None,
    )
    table.done()
    return found


def _windows(table: Table) -> tuple[Limits, ...]:
    found = tuple(_window(each) for each in table.tables("windows"))
    if not found:
        raise table.wrong("windows", "must hold at least one window")
    return found


def _sooner(table: Table) -> Sooner:
    found = Sooner(
        windows=_windows(table),
        age_months_from=table.needed_number("age_months_from", above=0) if table.has("age_months_from") else None,
        age_months_below=table.needed_number("age_months_below", above=0) if table.has("age_months_below") else None,
        facts=facts_of(table, "with", table.texts("with")),
    )
    table.done()
    return found


def facts_of(table: Table, key: str, words: Sequence[str]) -> frozenset[Fact]:
    """The answers that stand under `key` as "demeanour=dull"; vomiting is read elsewhere."""
    return frozenset(fact_in(table, key, each) for each in words if each != VOMITING)


def _picture(table: Table) -> PictureRule:
    common = _common(table)
    name = table.text("picture")
    if name not in PICTURES:
        raise table.wrong("picture", f"must be one of {', '.join(sorted(PICTURES))}")
    hours = table.table("hours")
    found = PictureRule(
        **common,
        picture=name,
        steps=_steps(table),
        hours={sign: _hours(hours, sign.value) for sign in Sign if hours.has(sign.value)},
    )
    hours.done()
    table.done()
    return found


def _words(table: Table) -> WordRule:
    common = _common(table)
    phrases = table.texts("phrases")
    if not all(_is_a_phrase(each) for each in phrases):
        raise table.wrong("phrases", "must hold words")
    table.texts("denials")  # plans keep older versions, which brought their own; the vocabulary knows more now
    found = WordRule(
        **common,
        level=level_in(table, "level"),
        phrases=phrases,
        expected_missing=frozenset(table.words("expected_missing", LifeSign)),
    )
    table.done()
    return found


def _is_a_phrase(written: str) -> bool:
    try:
        return bool(spellings(written))
    except ValueError:
        return False


def _common(table: Table) -> Common:
    return Common(
        code=table.text("code"),
        concern=table.word("concern", Concern),
        because=table.text("because"),
        source=source_of(table),
        only=_applies(table.table("only")),
        unless=_applies(table.table("unless")) if table.has("unless") else None,
    )


def _applies(table: Table) -> Applies:
    found = Applies(
        procedures=frozenset(table.words("procedures", Procedure)),
        closures=frozenset(table.words("closures", Closure)),
        approaches=frozenset(table.words("approaches", Approach)),
        given=frozenset(table.words("given", DrugGroup)),
    )
    table.done()
    return found


def _steps(table: Table) -> tuple[Step, ...]:
    steps = tuple(_step(table, each) for each in table.texts("levels"))
    ends = [step.until for step in steps[:-1]]
    known = [end for end in ends if end is not None]
    if not steps or len(known) < len(ends) or known != sorted(known):
        raise table.wrong("levels", "must be steps in the order of their hours, the last one open")
    return steps


def _step(table: Table, words: str) -> Step:
    level, _, until = words.partition(" until ")
    try:
        return Step(Level.from_word(level), dt.timedelta(hours=float(until)) if until else None)
    except (KeyError, ValueError):
        raise table.wrong("levels", f'cannot be read at {words!r}: write "monitor until 24" or "urgent"') from None


def _window(table: Table) -> Limits:
    limits = tuple((level, _hours(table, level.word)) for level in LEVELS if table.has(level.word))
    spans = [span for _, span in limits]
    if not spans or spans != sorted(set(spans)):
        raise table.wrong("monitor", "and the limits after it must rise with the level")
    until = _hours(table, "until") if table.has("until") else None
    table.done()
    return Limits(limits, until)


def _hours(table: Table, key: str) -> dt.timedelta:
    return dt.timedelta(hours=table.needed_number(key, above=0))
