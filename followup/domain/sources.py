"""Where a clinical value comes from, and the smallest thing that a rule reads."""

from __future__ import annotations

from dataclasses import dataclass

from followup.domain.answers import Question
from followup.domain.terms import Mark

Fact = tuple[Question, str]
"""One answer that stands."""


@dataclass(frozen=True)
class Source:
    """A mark and, in words, the publication, or "common practice, no source"."""

    mark: Mark
    text: str
