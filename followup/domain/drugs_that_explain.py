"""Drugs on board that can explain what was seen: named for whoever decides, and never a reason to lower a level."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from followup.domain.drug_groups import is_a
from followup.domain.explanation import Ground, OnBoard
from followup.domain.on_board import given_by
from followup.domain.recovery import Recovery
from followup.domain.rules import CanExplain


def that_explain(known: Recovery, grounds: Sequence[Ground]) -> tuple[OnBoard, ...]:
    """Of each effect and drug the newest dose that was near enough when the animal was seen."""
    found: dict[tuple[str, str], OnBoard] = {}
    for effect in known.rules.can_explain:
        for at in sorted({each.at for each in grounds if each.at is not None and _fits(effect, each)}):
            for drug in _near(known, effect, at):
                found[effect.code, drug.drug] = drug
    return tuple(found.values())


def _fits(effect: CanExplain, ground: Ground) -> bool:
    return ground.fact in effect.facts or (effect.vomiting and ground.vomiting)


def _near(known: Recovery, effect: CanExplain, at: dt.datetime) -> tuple[OnBoard, ...]:
    near: dict[str, OnBoard] = {}
    for given in given_by(known, at):
        within = effect.within + given.lasts
        if is_a(given.drug, effect.group) and at - given.at < within and given.drug not in near:
            near[given.drug] = OnBoard(given.drug, given.at, given.how, effect.because, within, effect.source)
    return tuple(near.values())
