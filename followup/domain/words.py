"""What unread words of an owner add to a verdict. They can only raise a level, until a person has read them.

Source: clinical defaults, 4: words name a danger; died, "said in words only".
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from followup.domain.recovery import Recovery
from followup.domain.said import Said, said_in
from followup.domain.terms import Certainty, Concern, Level
from followup.domain.verdict import Finding

SAY_DIED = "words_say_died"


@dataclass(frozen=True)
class _Heard:
    """What a finding takes from its rule."""

    rule: str
    concern: Concern
    level: Level
    because: str
    source: str


DEATH = _Heard(
    SAY_DIED,
    Concern.WORDS,
    Level.URGENT,
    "the owner's own words say that the animal has died",
    "clinical defaults, 4: said in words only, everything pauses and a person reads (derived)",
)


def word_findings(recovery: Recovery) -> Iterator[Finding]:
    """One finding for each rule whose danger unread words name, and one where they say that the animal died."""
    for rule in recovery.rules.words:
        named = [
            (danger.words, at)
            for at, said in _unread(recovery, rule.phrases)
            for danger in said.dangers
            if danger.sign not in rule.expected_missing
        ]
        if named:
            yield _finding(_Heard(rule.code, rule.concern, rule.level, rule.because, rule.source.text), *named[-1])
    died = [(said.died, at) for at, said in _unread(recovery) if said.died]
    if died:
        yield _finding(DEATH, *died[-1])


def words_say_died(recovery: Recovery) -> bool:
    """Whether unread words say that the animal has died."""
    return any(said.died for _, said in _unread(recovery))


def _unread(recovery: Recovery, also: tuple[str, ...] = ()) -> Iterator[tuple[dt.datetime, Said]]:
    for seen in recovery.observations:
        if seen.text:
            yield seen.at, said_in(seen.text, recovery.vocabulary, also)


def _finding(heard: _Heard, words: str, at: dt.datetime) -> Finding:
    return Finding(
        rule=heard.rule,
        concern=heard.concern,
        level=heard.level,
        certainty=Certainty.CERTAIN,
        because=f"{heard.because}, and nobody has read them yet: “{words}”",
        source=heard.source,
        since=at,
    )
