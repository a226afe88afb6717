"""A folder of stories judged: how often the program agrees with whoever wrote them, missed, or raised a false alarm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from followup.casefile import Moment, read_story
from followup.domain.terms import FollowUpError, Level
from followup.domain.verdict import Verdict
from followup.management.case_file import protocol_for, unreadable
from followup.management.judging import judge
from followup.management.plan_table import CAUTION

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
    yield f"\n{title}\n"
    yield from _table(judged)
    yield ""
    yield f"  agreements    {_share(judged, lambda each: not (each.missed or each.false_alarm))}"
    yield f"  misses        {_share(judged, lambda each: each.missed)}  (a milder level than expected)"
    yield f"  false alarms  {_share(judged, lambda each: each.false_alarm)}  (a worse level than expected)"
    red = [each for each in judged if each.moment.level is Level.EMERGENCY]
    calm = [each for each in judged if each.moment.level not in ALERTS]
    yield f"  emergencies given less               {_share(red, lambda each: each.missed)}"
    yield f"  no more than monitor, but alerted    {_share(calm, lambda each: each.verdict.level in ALERTS)}"


def _table(judged: Sequence[Judged]) -> Iterator[str]:
    counts = Counter((each.moment.level, each.verdict.level) for each in judged)
    names = [level.word.replace("_", " ") for level in WORST_FIRST]
    yield "  expected \\ given " + "".join(f"{name:>11}" for name in [*names, "all"])
    for level, name in zip(WORST_FIRST, names, strict=True):
        row = [counts[level, given] for given in WORST_FIRST]
        yield f"  {name:<17}" + "".join(f"{count:>11}" for count in [*row, sum(row)])


def _share(judged: Sequence[Judged], counted: Callable[[Judged], bool]) -> str:
    hits = sum(counted(each) for each in judged)
    percent = f"{100 * hits / len(judged):.1f} %" if judged else "none to count"
    return f"{hits:>5} of {len(judged):>5}  {percent:>8}"


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
