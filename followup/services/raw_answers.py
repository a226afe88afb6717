"""The two shapes of `Reply.raw`: answers posted together, and answers posted one by one.

Together: `{"answers": {key: [values]}, …}`. One by one: `{"entries": [{"id", "key", "values", "at"}], "understood": n,
"questions": [keys]}`, of which the first n have been taken in.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from followup.domain.questions import QUESTIONS, SKIPPED
from followup.domain.understood import Answered
from followup.domain.why_silent import WHY_SILENT, WhySilent, why_of
from followup.models import Reply

Raw = dict[str, object]


def together(answers: dict[str, list[str]], **more: object) -> Raw:
    """Answers that came in one form."""
    return {"answers": answers, **more}


def one_by_one(questions: Iterable[str]) -> Raw:
    """The beginning of answers that come one by one."""
    return {"entries": [], "understood": 0, "questions": list(questions)}


def answered_in(reply: Reply) -> tuple[Answered, ...]:
    """The answers that have not been taken in yet, in the order in which they came."""
    if "entries" in reply.raw:
        return entries_of(reply)[int(reply.raw["understood"]) :]
    if reply.state != Reply.State.STORED:
        return ()
    return tuple(Answered(key, tuple(values), reply.received_at) for key, values in given_together(reply))


def given_together(reply: Reply) -> list[tuple[str, list[str]]]:
    """What was answered of one form, in the order of the questions: a database keeps no order of keys."""
    answers = reply.raw.get("answers", {})
    asked = [*QUESTIONS, *sorted(answers.keys() - QUESTIONS.keys())]
    return [(key, answers[key]) for key in asked if answers.get(key)]


def entries_of(reply: Reply) -> tuple[Answered, ...]:
    """Every answer of a reply that came one by one."""
    return tuple(
        Answered(each["key"], tuple(each["values"]), dt.datetime.fromisoformat(each["at"]))
        for each in reply.raw.get("entries", ())
    )


def every_answer(reply: Reply) -> tuple[Answered, ...]:
    """Everything that a reply answers, taken in or not, of whichever shape."""
    given = (Answered(key, tuple(values), reply.received_at) for key, values in given_together(reply))
    return (*entries_of(reply), *given)


def given_in(reply: Reply) -> dict[str, tuple[str, ...]]:
    """The newest answer to each question."""
    return {each.key: each.values for each in entries_of(reply)}


def words_in(reply: Reply) -> str:
    """The owner's own words in answers that came one by one: to the last question, and about a silence."""
    given = given_in(reply)
    told = "".join(value for value in given.get("text", ()) if value != SKIPPED)
    return "\n".join(words.strip() for words in (told, *given.get(WHY_SILENT, ())[1:]) if words.strip())


def why_silent_in(reply: Reply) -> WhySilent | None:
    """The reason that a reply gives for a silence, the newest answer; None: none."""
    given = [each for each in entries_of(reply) if each.key == WHY_SILENT]
    given += [
        Answered(key, tuple(values), reply.received_at) for key, values in given_together(reply) if key == WHY_SILENT
    ]
    return why_of(given[-1].values, given[-1].at) if given else None


def mark_understood(reply: Reply) -> None:
    """Everything in it has been taken in. To be called inside the transaction that took it in."""
    if "entries" in reply.raw:
        reply.raw["understood"] = len(reply.raw["entries"])
    reply.state = Reply.State.UNDERSTOOD
    reply.save(update_fields=["raw", "state"])
