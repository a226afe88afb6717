"""A folder of stories judged: how often the program agrees with whoever wrote them, missed, or raised a false alarm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from followup.casefile import Moment, read_story
from followup.domain.agreement import Share, agreements, higher, lower
from followup.domain.caution import CAUTION
from followup.domain.terms import FollowUpError, Level
from followup.domain.verdict import Verdict
from followup.management.case_file import protocol_for, unreadable
from followup.management.judging import judge

WORST_FIRST = tuple(sorted(Level, reverse=True))
ALERTS = frozenset({Level.URGENT, Level.EMERGENCY})
"""The levels that ask a person to act before the next list."""


@dataclass(frozen=True)
class Judged:
    """One moment of a story and what the program makes of it."""

    story: str
    moment: Moment
    verdict: Verdict

    @property
    def missed(self) -> bool:
        """Whether the program gives a milder level than the story."""
        return self.verdict.level < self.moment.level

    @property
    def false_alarm(self) -> bool:
        """Whether the program gives a worse level than the story."""
        return self.verdict.level > self.moment.level


def judged_in(folder: Path) -> tuple[Judged, ...]:
    """Every moment of every story in `folder`, by name. Raises CommandError with code 2."""
    paths = sorted(folder.glob("*.json"))
    if not paths:
        raise unreadable(f"{folder} holds no story: a story is a file that ends in .json.")
    return tuple(each for path in paths for each in _judged(path))


def _judged(path: Path) -> Iterator[Judged]:
    try:
        story = read_story(path.read_text(encoding="utf-8"))
        for moment in story.moments:
            yield Judged(path.stem, moment, judge(moment.found, protocol_for(moment.found)))
    except (OSError, UnicodeDecodeError) as fault:
        raise unreadable(f"{path} cannot be read: {fault}.") from None
    except FollowUpError as refusal:
        raise unreadable(f"{path}: {refusal}") from None


def report(folder: Path, judged: Sequence[Judged]) -> str:
    """The counts, the tables and every disagreement, as text."""
    ends = [each for each in judged if each.moment.last]
    lines = [
        f"{len(ends)} stories in {folder}, judged at {len(judged)} moments",
        *_part("At the end of each story", ends),
        *_part("At every moment", judged),
        *_disagreements(judged),
        "",
        CAUTION,
    ]
    return "\n".join(lines)


def _part(title: str, judged: Sequence[Judged]) -> Iterator[str]:
    """Of two judges, the program is the first and whoever wrote the stories the second."""
    table = Counter((each.verdict.level, each.moment.level) for each in judged)
    red = {pair: many for pair, many in table.items() if pair[1] is Level.EMERGENCY}
    calm = sum(many for (_, expected), many in table.items() if expected not in ALERTS)
    alerted = sum(many for (given, expected), many in table.items() if given in ALERTS and expected not in ALERTS)
    yield f"\n{title}\n"
    yield from _table(table)
    yield ""
    yield f"  agreements    {_share(agreements(table))}"
    yield f"  misses        {_share(lower(table))}  (a milder level than expected)"
    yield f"  false alarms  {_share(higher(table))}  (a worse level than expected)"
    yield f"  emergencies given less               {_share(lower(red))}"
    yield f"  no more than monitor, but alerted    {_share(Share(alerted, calm))}"


def _table(table: Mapping[tuple[Level, Level], int]) -> Iterator[str]:
    names = [level.word.replace("_", " ") for level in WORST_FIRST]
    yield "  expected \\ given " + "".join(f"{name:>11}" for name in [*names, "all"])
    for level, name in zip(WORST_FIRST, names, strict=True):
        row = [table.get((given, level), 0) for given in WORST_FIRST]
        yield f"  {name:<17}" + "".join(f"{count:>11}" for count in [*row, sum(row)])


def _share(share: Share) -> str:
    percent = f"{100 * share.count / share.of:.1f} %" if share.of else "none to count"
    return f"{share.count:>5} of {share.of:>5}  {percent:>8}"


def _disagreements(judged: Sequence[Judged]) -> Iterator[str]:
    found = [each for each in judged if each.missed or each.false_alarm]
    yield "\nNo disagreement" if not found else "\nDisagreements, misses first"
    for each in sorted(found, key=lambda one: (one.false_alarm, -one.moment.level, one.story, one.moment.now)):
        yield from _disagreement(each)


def _disagreement(each: Judged) -> Iterator[str]:
    kind = "missed" if each.missed else "false alarm"
    local = each.moment.found.case.hours.local(each.moment.now)
    levels = f"{each.moment.level.word} expected, {each.verdict.level.word} given"
    yield f"\n  {each.story}, {local:%a %d %b %H:%M}: {kind}, {levels}"
    yield f"    expected because: {each.moment.because} (section {each.moment.section or 'not named'})"
    for finding in each.verdict.findings:
        yield f"    {finding.level.word}, {finding.certainty.value}: {finding.because} [{finding.rule}]"
