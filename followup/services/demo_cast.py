"""Who lives in the demo: an invented practice, its people, and twelve patients between day 0 and day 14."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings

FILE = Path(settings.BASE_DIR) / "fixtures" / "demo.toml"
Answers = dict[str, list[str]]


@dataclass(frozen=True)
class Actor:
    """One patient: operated `days_ago`, and how the owner answers. `silent_after`: answers no check-in from then on.

    `says`: answers by "day kind" that differ from a good day's; `photo` on that day.
    """

    owner: str
    name: str
    species: str
    sex: str
    days_ago: int
    weight_g: int
    silent_after: str = ""
    prescribed: bool = True
    wakes_for_emergency: bool = False
    reviewed: bool = True
    drawn_redness: int = 1
    says: dict[str, Answers] = field(default_factory=dict)


@dataclass(frozen=True)
class Cast:
    """Everything in fixtures/demo.toml."""

    practices: list[dict[str, Any]]
    staff: list[dict[str, Any]]
    actors: list[Actor]


def read_cast() -> Cast:
    """The demo's file, read whole."""
    found = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return Cast(found["practice"], found["staff"], [Actor(**each) for each in found["patient"]])
