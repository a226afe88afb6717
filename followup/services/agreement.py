"""How often whoever reviewed a flag agreed with the level that the rules had given. A read model: two queries."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from clinic.models import Practice
from followup.domain.agreement import Share, agreements, higher, lower, weighted_kappa
from followup.domain.terms import Level
from followup.models import Flag

MOST_RULES = 5
"""The page names so many rules: those to look at first."""


@dataclass(frozen=True)
class Line:
    """One row of the table: what the rules gave, and how often each level was it really, worst first."""

    level: str
    cells: tuple[int, ...]
    total: int


@dataclass(frozen=True)
class Overruled:
    """One rule that stood at its flag's worst level, in so many reviewed flags, and how often the reviewer differed."""

    rule: str
    concern: str
    missed: int
    alarmed: int
    reviewed: int


@dataclass(frozen=True)
class Agreement:
    """The whole page. `not_said`: reviewed flags without the reviewer's level, which are counted nowhere else."""

    levels: tuple[str, ...]
    lines: tuple[Line, ...]
    same: Share
    misses: Share
    false_alarms: Share
    kappa: float | None
    rules: tuple[Overruled, ...]
    not_said: int


@dataclass(frozen=True)
class _Judged:
    tool: Level
    really: Level
    concern: str
    rules: tuple[str, ...]


def agreement(practice: Practice, *, since: dt.datetime, until: dt.datetime) -> Agreement:
    """Of this practice's flags that were reviewed from `since` on and before `until`."""
    reviewed = Flag.objects.of(practice).by_rules().filter(state=Flag.State.REVIEWED)
    reviewed = reviewed.filter(reviewed_at__gte=since, reviewed_at__lt=until)
    judged = list(_judged(reviewed.filter(judged_level__isnull=False)))
    table = Counter((each.tool, each.really) for each in judged)
    return Agreement(
        levels=tuple(level.word for level in _worst_first()),
        lines=tuple(_line(level, table) for level in _worst_first()),
        same=agreements(table),
        misses=lower(table),
        false_alarms=higher(table),
        kappa=weighted_kappa(table),
        rules=tuple(_most_overruled(judged)),
        not_said=reviewed.filter(judged_level__isnull=True).count(),
    )


def _worst_first() -> list[Level]:
    return sorted(Level, reverse=True)


def _line(level: Level, table: Mapping[tuple[Level, Level], int]) -> Line:
    cells = tuple(table.get((level, really), 0) for really in _worst_first())
    return Line(level.word, cells, sum(cells))


def _judged(reviewed: QuerySet[Flag]) -> Iterator[_Judged]:
    kept = ("worst", "judged_level", "concern", "rules", "judged_verdict__body__flags")
    for worst, really, concern, rules, found in reviewed.values_list(*kept):
        of_concern = [each for each in found or () if each["concern"] == concern]
        yield _Judged(Level(worst), Level(really), concern, _that_decided(of_concern or rules))


def _that_decided(findings: Sequence[Mapping[str, str]]) -> tuple[str, ...]:
    """The rules at the worst level that any gave, each once: the others did not decide."""
    worst = max((Level.from_word(each["level"]) for each in findings), default=Level.ON_TRACK)
    return tuple(dict.fromkeys(each["rule"] for each in findings if each["level"] == worst.word))


def _most_overruled(judged: Sequence[_Judged]) -> Iterator[Overruled]:
    """The five whose flags were most often judged otherwise; of equals the one that missed more, then by name."""
    flags: dict[tuple[str, str], list[_Judged]] = {}
    for each in judged:
        for rule in each.rules:
            flags.setdefault((rule, each.concern), []).append(each)
    counted = [
        Overruled(
            rule=rule,
            concern=concern,
            missed=sum(each.tool < each.really for each in found),
            alarmed=sum(each.tool > each.really for each in found),
            reviewed=len(found),
        )
        for (rule, concern), found in flags.items()
    ]
    overruled = [each for each in counted if each.missed + each.alarmed]
    yield from sorted(overruled, key=lambda each: (-each.missed - each.alarmed, -each.missed, each.rule))[:MOST_RULES]
