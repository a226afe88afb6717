"""What if it had been otherwise: a recovery made anew with one thing milder, and weighed by the same rules.

So that what is said to lower a finding does lower it: nothing here is worked out by a second set of rules.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from followup.domain.answers import ANSWERS, PainSign, Question, milder_than
from followup.domain.explanation import Lower
from followup.domain.observation import Observation, Told
from followup.domain.plain_words import SIGN_WORDS, answer_words, asked, on_the_clock, quoted
from followup.domain.recovery import Recovery
from followup.domain.rests_on import last_pain_looks, standing_looks
from followup.domain.sources import Fact
from followup.domain.terms import Level, Sign

MOST_TOGETHER = 6
"""A reason that takes more changes than this at once to ease says little."""

JUST_AFTER = dt.timedelta(minutes=1)
Weigh = Callable[[Recovery], Level]
"""The level that the finding would have in that recovery."""


@dataclass(frozen=True)
class WhatIf:
    """One thing otherwise: the condition in words, and the recovery with it."""

    words: str
    made: Callable[[Recovery], Recovery]
    instead: tuple[Fact, ...] = ()


def that_lower(known: Recovery, ifs: Sequence[WhatIf], weigh: Weigh, given: Level) -> tuple[Lower, ...]:
    """The smallest sets of `ifs` that bring the level below `given`, each with the level that is left."""
    hits: list[frozenset[int]] = []
    found: list[Lower] = []
    for size in range(1, min(len(ifs), MOST_TOGETHER) + 1):
        for chosen in combinations(range(len(ifs)), size):
            if any(hit <= set(chosen) for hit in hits):
                continue
            left = weigh(_with(known, [ifs[each] for each in chosen]))
            if left < given:
                hits.append(frozenset(chosen))
                alone = ifs[chosen[0]].instead if size == 1 else ()
                found.append(Lower(" and ".join(ifs[each].words for each in chosen), left, alone))
    return tuple(found)


def milder_answers(known: Recovery, fact: Fact, weigh: Weigh, given: Level) -> Iterator[Lower]:
    """Every answer that is milder than `fact` and gives less, together with those that give the same."""
    question, stood = fact
    by_level: dict[Level, list[Fact]] = {}
    for answer in milder_than(question, stood):
        level = weigh(answered(known, question, answer))
        if level < given:
            by_level.setdefault(level, []).append((question, answer))
    for level, facts in sorted(by_level.items(), reverse=True):
        yield Lower(f"answered {quoted(facts)} instead", level, tuple(facts))


def _with(known: Recovery, ifs: Sequence[WhatIf]) -> Recovery:
    for each in ifs:
        known = each.made(known)
    return known


def well(question: Question, known: Recovery) -> WhatIf:
    """The best answer to `question`."""
    best = ANSWERS[question][0]
    words = f"“{answer_words((question, best))}” to “{asked(known, question)}”"
    return WhatIf(words, lambda was: answered(was, question, best), ((question, best),))


def answered(known: Recovery, question: Question, answer: str, *, every: bool = False) -> Recovery:
    """As if each answer to `question` that stands, or every one, had been `answer`."""
    looks = known.observations if every else standing_looks(known, question)
    return _remade(known, looks, lambda seen: _answering(seen, question, answer))


def _answering(seen: Observation, question: Question, answer: str) -> Observation:
    return replace(seen, answers={**seen.answers, question: answer}) if question in seen.answers else seen


def showing(known: Recovery, signs: frozenset[PainSign]) -> Recovery:
    """As if only `signs` had been seen at the newest look for pain."""
    return _remade(known, last_pain_looks(known), lambda seen: _showing(seen, signs))


def _showing(seen: Observation, signs: frozenset[PainSign]) -> Observation:
    return replace(seen, pain_signs=(seen.pain_signs or frozenset()) & signs)


def vomiting(known: Recovery, count: int) -> Recovery:
    """As if the newest count of vomits had been `count`."""
    told = [seen for seen in known.observations if seen.vomits is not None]
    return _remade(known, told[-1:], lambda seen: replace(seen, vomits=count))


def added(known: Recovery, seen: Observation) -> Recovery:
    """With one more look at the animal, the newest."""
    return replace(known, observations=(*known.observations, seen))


NO_PAIN = WhatIf("no sign of pain", lambda was: showing(was, frozenset()))
NO_VOMIT = WhatIf("no vomiting", lambda was: vomiting(was, 0))


def known_after(known: Recovery, sign: Sign, moment: dt.datetime, now: dt.datetime) -> WhatIf:
    """The sign known of after `moment`: a time told."""
    key = Sign.FOOD if sign is Sign.MEAL else sign
    told = Observation(at=now, told={key: Told.exactly(moment + JUST_AFTER)})
    words = f"{SIGN_WORDS[sign]} after {on_the_clock(known, moment)}"
    return WhatIf(words, lambda was: added(was, told))


def _remade(known: Recovery, looks: Sequence[Observation], made: Callable[[Observation], Observation]) -> Recovery:
    chosen = {id(seen) for seen in looks}
    return replace(known, observations=tuple(made(seen) if id(seen) in chosen else seen for seen in known.observations))
