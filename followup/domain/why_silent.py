"""Why nothing was heard: asked once a silence has ended, without blame. Source: evidence, C-10 (assumed).

The reason is no fact about the animal and stands in no case file; only "was not well" is weighed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from followup.domain.question_words import Asked, Kind, gettext_noop

WHY_SILENT = "why_silent"
"""The key of the question, beside the observation keys."""
_ = gettext_noop


class Why(StrEnum):
    """What the owner says was the reason."""

    FORGOT = "forgot"
    NO_SIGNAL = "no_signal"
    UNWELL = "unwell"
    OTHER = "other"

    @property
    def words(self) -> str:
        """As staff read it."""
        return {
            Why.FORGOT: "forgot, or was busy",
            Why.NO_SIGNAL: "no message or no signal",
            Why.UNWELL: "the animal was not well",
            Why.OTHER: "something else",
        }[self]


ASKED = Asked(
    WHY_SILENT,
    _("Good to hear from you. What kept you from telling us about %(patient)s before?"),
    _("It helps us to ask at a better time, or in a better way. You need not answer this."),
    (
        (Why.FORGOT, _("I forgot, or I was busy")),
        (Why.NO_SIGNAL, _("No message came, or I had no signal")),
        (Why.UNWELL, _("%(patient)s was not well")),
        (Why.OTHER, _("Something else")),
    ),
    kind=Kind.REASON,
)


@dataclass(frozen=True)
class WhySilent:
    """One answer, and when it was given; `words` are the owner's own, if any."""

    why: Why
    at: dt.datetime
    words: str = ""

    def told(self) -> str:
        """For staff: "the animal was not well: “she slept all day”"."""
        return f"{self.why.words}: “{self.words}”" if self.words else self.why.words


def why_of(values: Sequence[str], at: dt.datetime) -> WhySilent | None:
    """The answer as a value; None: it was left out."""
    if not values or values[0] not in set(Why):
        return None
    return WhySilent(Why(values[0]), at, values[1].strip() if len(values) > 1 else "")


def with_words(chosen: Sequence[str], typed: str) -> list[str]:
    """The values of an answer: what was chosen, and words beside it; words alone are something else."""
    if not typed:
        return list(chosen[:1])
    return [chosen[0] if chosen else Why.OTHER.value, typed]
