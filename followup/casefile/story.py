"""A story: a case, the level that a person gave it, and why. What `manage.py triage --stories` reads.

`{"title", "expected": {"level", "because", "section"}, "along_the_way": [{"now", "level", ...}], "case": {...}}`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from followup.casefile.case_in import CaseFile, parse_json, read_case_file
from followup.casefile.refusals import BadCase, refuse
from followup.domain.reading import Table
from followup.domain.terms import Level


@dataclass(frozen=True)
class Moment:
    """One case at one `now`, as it was known then, and the level that a person gave it.

    `last`: this is the case's own `now`.
    """

    found: CaseFile
    now: dt.datetime
    level: Level
    because: str
    section: str
    last: bool


@dataclass(frozen=True)
class Story:
    """One recovery with everything that was said of it."""

    title: str
    moments: tuple[Moment, ...]


def read_story(text: str) -> Story:
    """A story from its JSON. Raises BadCase, whose path begins at the story."""
    whole = Table(parse_json(text), "$", refuse)
    title = whole.text("title")
    case = whole.take("case")
    if not isinstance(case, Mapping):
        raise BadCase("$.case", "must be a case")
    expected = whole.table("expected")
    moments = [_moment(each, case, each.moment("now"), last=False) for each in whole.tables("along_the_way")]
    now = Table({"now": case.get("now")}, "$.case", refuse).moment("now")
    moments.append(_moment(expected, case, now, last=True))
    whole.done()
    return Story(title, tuple(moments))


def _moment(said: Table, case: Mapping[str, object], now: dt.datetime, *, last: bool) -> Moment:
    level = said.text("level")
    if level not in {each.word for each in Level}:
        raise said.wrong("level", f"must be one of {', '.join(each.word for each in Level)}")
    because, section = said.text("because"), said.text("section", "")
    said.done()
    return Moment(read_case_file(_as_known(case, now)), now, Level.from_word(level), because, section, last)


def _as_known(case: Mapping[str, object], now: dt.datetime) -> dict[str, object]:
    """The case at `now`: what was seen and said later is left out."""
    known = {**case, "now": now.isoformat()}
    for key in ("observations", "vet_said"):
        each = case.get(key)
        if isinstance(each, list):
            known[key] = [one for one in each if not _later(one, now)]
    return known


def _later(said: object, now: dt.datetime) -> bool:
    """Whether it was said after `now`; what cannot be read is kept, so that reading it refuses it."""
    at = said.get("at") if isinstance(said, Mapping) else None
    try:
        return isinstance(at, str) and dt.datetime.fromisoformat(at) > now
    except (ValueError, TypeError):
        return False
