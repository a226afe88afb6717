"""An explanation as JSON: what each flag and the verdict carry under `explanation`; and an earlier verdict read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from zoneinfo import ZoneInfo

from followup.casefile.refusals import moment_json
from followup.domain.bounds import HOUR
from followup.domain.explanation import Before, Changes, Explained, Explanation, Ground, Lower, OnBoard, ToDo
from followup.domain.terms import Level

Json = dict[str, object]


def explanation_json(explanation: Explanation, zone: ZoneInfo | None) -> Json:
    """What the verdict as a whole carries."""
    changes = explanation.changes
    return {
        "unknown": list(explanation.unknown),
        "changed": None if changes is None else _changes(changes, zone),
        "to_do": _to_do(explanation.to_do, zone),
        "caution": explanation.caution,
    }


def explained_json(each: Explained, zone: ZoneInfo | None) -> Json:
    """What one flag carries."""
    return {
        "rule": each.rule,
        "rests_on": [_ground(ground, zone) for ground in each.grounds],
        "certainty": each.certainty,
        "lower_if": [_lower(lower) for lower in each.lower],
        "nothing_lowers": each.nothing_lowers or None,
        "can_explain": [_drug(drug, zone) for drug in each.drugs],
    }


def read_before(at: dt.datetime, body: Mapping[str, object]) -> Before:
    """An earlier verdict from its JSON, as `verdict_json` wrote it; old ones carry no explanation and need none."""
    flags = body.get("flags")
    found: dict[str, tuple[Level, str]] = {}
    for each in flags if isinstance(flags, Sequence) else ():
        level = Level.from_word(each["level"])
        worst = found.get(each["rule"])
        if worst is None or level > worst[0]:
            found[each["rule"]] = (level, each["because"])
    return Before(at, Level.from_word(str(body["level"])), found)


def _time(moment: dt.datetime | None, zone: ZoneInfo | None) -> str | None:
    return None if moment is None else moment_json(moment, zone)


def _ground(ground: Ground, zone: ZoneInfo | None) -> Json:
    return {
        "question": ground.question,
        "answer": ground.answer,
        "at": _time(ground.at, zone),
        "by": ground.by or None,
    }


def _lower(lower: Lower) -> Json:
    return {"if": lower.words, "level": lower.level.word}


def _drug(drug: OnBoard, zone: ZoneInfo | None) -> Json:
    return {
        "drug": drug.drug,
        "at": _time(drug.at, zone),
        "given": drug.given,
        "because": drug.explains,
        "within_hours": drug.within / HOUR,
        "mark": drug.source.mark.value,
        "source": drug.source.text,
    }


def _changes(changes: Changes, zone: ZoneInfo | None) -> Json:
    return {
        "since": _time(changes.since, zone),
        "level": {"was": changes.was.word, "now": changes.now.word},
        "findings": [
            {
                "rule": each.rule,
                "because": each.because,
                "was": None if each.was is None else each.was.word,
                "now": None if each.now is None else each.now.word,
            }
            for each in changes.findings
        ],
    }


def _to_do(to_do: ToDo, zone: ZoneInfo | None) -> Json:
    return {"what": to_do.what, "who": to_do.who, "by": _time(to_do.by, zone)}
