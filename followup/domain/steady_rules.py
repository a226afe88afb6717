"""Rules that are the same question for every animal and differ only in their figures: asking, nights, doses, mishaps.

What they do stands in `clock_rules`, `night`, `medicine_rules`, `mishaps`, `silence`; the figures are data with source.
A plan that keeps an older copy of its protocol, without these tables, is judged by the figures here.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction

from followup.domain.answers import Question
from followup.domain.sources import Fact, Source
from followup.domain.terms import Level, Mark

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)


ASKING = Source(Mark.DERIVED, "clinical defaults, 6.6")
NIGHTS = Source(Mark.DERIVED, "clinical defaults, 6.9")
SILENT = Source(
    Mark.DERIVED, "clinical defaults, 5; the silent had about twice the odds of readmission (Sewell 2025: P)"
)
ROWS = Source(Mark.DERIVED, "clinical defaults, 4")
LABELS = Source(Mark.PUBLISHED, "published product information: stop the medicine and call")


@dataclass(frozen=True)
class Asked:
    """A limit that is only possible counts in full after one question has had `for_waking` waking time.

    With less than `too_late` waking time left before sleep it counts in full at sleep.
    """

    for_waking: dt.timedelta = 60 * MINUTE
    too_late: dt.timedelta = 90 * MINUTE
    source: Source = ASKING


@dataclass(frozen=True)
class BeforeSleep:
    """On `nights` nights from that of surgery on, a running food clock is decided before the owner sleeps.

    `unanswered`: so long before sleep where nobody answered at bedtime. `until_after_waking`: the limit that would be
    reached by then is decided. `word_after_waking`: where it was passed asleep, no answer so long after waking is an
    emergency. `level` without signs of illness, `with_signs` with them, or at sleep without a vet's word.
    """

    nights: int = 0
    unanswered: dt.timedelta = 60 * MINUTE
    until_after_waking: dt.timedelta = HOUR
    word_after_waking: dt.timedelta = 30 * MINUTE
    level: Level = Level.URGENT
    with_signs: Level = Level.EMERGENCY
    source: Source = NIGHTS


@dataclass(frozen=True)
class NotTaken:
    """`running` reported doses of one drug that were not taken."""

    running: int = 2
    level: Level = Level.URGENT
    source: Source = ROWS


@dataclass(frozen=True)
class StopAndCall:
    """A dose of an NSAID is weighed from `before` its time on against `facts`, vomiting and, later, `facts_later`."""

    before: dt.timedelta = 3 * HOUR
    facts: frozenset[Fact] = frozenset(
        {
            (Question.APPETITE, "none"),
            (Question.APPETITE, "a_few_bites"),
            (Question.FAECES, "diarrhoea"),
            (Question.DRINKING, "more"),
        }
    )
    later_from: dt.timedelta = 24 * HOUR
    facts_later: frozenset[Fact] = frozenset({(Question.DEMEANOUR, "dull"), (Question.DEMEANOUR, "collapsed")})
    vomiting: bool = True
    level: Level = Level.URGENT
    source: Source = LABELS


@dataclass(frozen=True)
class Mishaps:
    """Something went wrong with a medicine. `times` what was planned: above 1, from the second, from the third figure.

    `another`: a second dose inside the shortest spacing, or a medicine of another animal's; `another_nsaid`: where that
    is an NSAID. `into_the_lungs`: or the wrong place. `for_people`: painkillers that no vet prescribed.
    """

    half_again: Fraction = Fraction(3, 2)
    far_too_much: Fraction = Fraction(3)
    a_little_more: Level = Level.MONITOR
    another: Level = Level.URGENT
    another_nsaid: Level = Level.URGENT
    grave: Level = Level.EMERGENCY
    for_people: tuple[str, ...] = ("paracetamol", "ibuprofen", "naproxen", "diclofenac", "aspirin")
    told_twice_within: dt.timedelta = 10 * MINUTE
    source: Source = ROWS


@dataclass(frozen=True)
class FirstNight:
    """What silence gives after the first evening and on the first morning, where an animal can die of a day unasked.

    `at_sleep`: day 0 unanswered. `call_at`: day 1's waking question unanswered; `vet_at`: a vet decides; `first_at`:
    first on every list. Clock times of the owner.
    """

    level: Level = Level.URGENT
    call_at: dt.time = dt.time(10)
    vet_at: dt.time = dt.time(14)
    first_at: dt.time = dt.time(18)


@dataclass(frozen=True)
class Silence:
    """Check-ins whose `answer_by` has passed. `early`: how long after surgery a bad last answer, or none, counts more.

    `running`: so many in a row give `several`. `first_night` None: day 0 and 1 are judged as other days.
    """

    early: dt.timedelta = 72 * HOUR
    last_answer_good: Level = Level.MONITOR
    last_answer_not_good: Level = Level.URGENT
    later: Level = Level.MONITOR
    running: int = 2
    several: Level = Level.URGENT
    first_night: FirstNight | None = None
    source: Source = SILENT


@dataclass(frozen=True)
class SteadyRules:
    """All of them together."""

    asked: Asked = Asked()
    before_sleep: BeforeSleep = BeforeSleep()
    not_taken: NotTaken = NotTaken()
    stop_and_call: StopAndCall = StopAndCall()
    mishaps: Mishaps = Mishaps()
    silence: Silence = Silence()
