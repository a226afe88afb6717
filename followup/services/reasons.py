"""Why a stored verdict is what it is, as the patient's page shows it: read from its row, on the owner's clock.

A row from before verdicts were explained has reasons and sources alone; what is missing is left out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from followup.domain.terms import Level
from followup.models import Verdict

Json = Mapping[str, Any]


@dataclass(frozen=True)
class Told:
    """One fact that a reason rests on; `when` on the owner's clock, empty where no time belongs to it."""

    question: str
    answer: str
    when: str
    by: str


@dataclass(frozen=True)
class OnBoard:
    """A drug that can explain it, with when and how it was given."""

    drug: str
    when: str
    given: str
    because: str
    hours: float
    mark: str
    source: str


@dataclass(frozen=True)
class Reason:
    """One finding. `lower_if`: conditions, each with what would be left of it."""

    level: str
    because: str
    code: str
    concern: str
    source: str
    certainty: str
    rule: str
    rests_on: tuple[Told, ...]
    lower_if: tuple[tuple[str, str], ...]
    nothing_lowers: str
    can_explain: tuple[OnBoard, ...]


@dataclass(frozen=True)
class Change:
    """One finding that is new, gone, raised or eased, in a word, with its reason."""

    how: str
    because: str


@dataclass(frozen=True)
class Reasons:
    """The whole. `changed_since`: when the verdict before was given; `level_was` is empty where it is the same."""

    of: str
    reasons: tuple[Reason, ...]
    to_do: str
    who: str
    by: str
    changed_since: str
    level_was: str
    changed: tuple[Change, ...]
    unknown: tuple[str, ...]
    caution: str


def reasons_of(row: Verdict | None) -> Reasons | None:
    """What the page says of this verdict; None: none has been given yet."""
    if row is None:
        return None
    whole: Json = row.body.get("explanation") or {}
    to_do, changed = whole.get("to_do") or {}, whole.get("changed") or {}
    was: Json = changed.get("level") or {}
    return Reasons(
        of=_clock(row.body.get("at")),
        reasons=tuple(_reason(each) for each in row.body.get("flags", ())),
        to_do=to_do.get("what", ""),
        who=to_do.get("who", ""),
        by=_clock(to_do.get("by")) if row.level < Level.EMERGENCY else "",  # at once
        changed_since=_clock(changed.get("since")),
        level_was=_words(was["was"]) if was and was["was"] != was["now"] else "",
        changed=tuple(_changes(changed)),
        unknown=tuple(whole.get("unknown", ())),
        caution=whole.get("caution", ""),
    )


def _clock(moment: str | None) -> str:
    """A stored time keeps the owner's offset, so that it reads as his clock did."""
    return f"{dt.datetime.fromisoformat(moment):%a %d %b %H:%M}" if moment else ""


def _words(level: str) -> str:
    return level.replace("_", " ")


def _reason(flag: Json) -> Reason:
    why: Json = flag.get("explanation") or {}
    return Reason(
        level=flag["level"],
        because=flag["because"],
        code=flag["rule"],
        concern=flag["concern"],
        source=flag["source"],
        certainty=why.get("certainty") or flag["certainty"],
        rule=why.get("rule", ""),
        rests_on=tuple(_told(each) for each in why.get("rests_on", ())),
        lower_if=tuple((each["if"], _left(each["level"])) for each in why.get("lower_if", ())),
        nothing_lowers=why.get("nothing_lowers") or "",
        can_explain=tuple(_drug(each) for each in why.get("can_explain", ())),
    )


def _left(level: str) -> str:
    return "would raise nothing" if level == "on_track" else f"would be {level}"


def _told(each: Json) -> Told:
    return Told(each["question"], each["answer"], _clock(each["at"]), each["by"] or "")


def _drug(each: Json) -> OnBoard:
    how = (each["drug"], _clock(each["at"]), each["given"], each["because"])
    return OnBoard(*how, each["within_hours"], each["mark"], each["source"])


def _changes(changed: Json) -> Iterator[Change]:
    for each in changed.get("findings", ()):
        yield Change(_how(each["was"], each["now"]), each["because"])


def _how(was: str | None, now: str | None) -> str:
    if was is None:
        return f"new, {now}"
    if now is None:
        return "gone"
    return f"{was}, now {now}"
