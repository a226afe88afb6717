"""What the rota says in sentences: when, how long, and what becomes of an emergency while nobody is on call."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from clinic.models import Practice
from clinic.models.practice import SPECIES
from followup.domain.rota import HOUR, change_within
from followup.domain.spans import Span
from followup.services.texts import read_aloud


def day_words(moment: dt.datetime, zone: ZoneInfo) -> str:
    """ "Sat 5 Dec 18:00" on the practice's clock."""
    local = moment.astimezone(zone)
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def from_to(found: Span, zone: ZoneInfo) -> str:
    """ "from Sat 5 Dec 18:00 to Sun 6 Dec 08:00"; an hour that the clock shows twice is named."""
    return f"from {_told(found.starts, zone)} to {_told(found.ends, zone)}"


def lasts(found: Span, zone: ZoneInfo) -> str:
    """ "12 h"; "11 h, because the clocks go forward"."""
    change = change_within(found, zone)
    because = f", because the clocks go {'forward' if change > dt.timedelta(0) else 'back'}" if change else ""
    return f"{_long(found.length)}{because}"


def hole_sentence(found: Span, practice: Practice) -> str:
    """What happens in a span in which nobody is on call. One sentence, for whoever keeps the rota."""
    return (
        f"Nobody is on call {from_to(found, practice.zone)} ({lasts(found, practice.zone)}): emergencies in that time "
        f"go to every vet and administrator, and {owners_are_told(practice)}."
    )


def no_night_cover_sentence(practice: Practice) -> str:
    """A practice of whose staff nobody is on call at night."""
    return (
        "Nobody is on call at night. Owners are never told that a vet was alerted then, but that nobody here can see "
        f"their answers before opening; {owners_are_told(practice)}. "
        "On waking they are asked whether they reached a vet."
    )


def owners_are_told(practice: Practice) -> str:
    """Whom owners are told to phone while it is closed, for each species."""
    providers = {each.species: each for each in practice.providers.all()}
    by_line: dict[str, list[str]] = {}
    for species, name in SPECIES:
        if species in providers:
            found = providers[species]
            by_line.setdefault(f"{found.name}, {read_aloud(str(found.phone))}", []).append(name)
    without = [name for species, name in SPECIES if species not in providers]
    told = [f"{line} ({', '.join(names)})" for line, names in by_line.items()]
    if without:
        told.append(f"the nearest emergency vet ({', '.join(without)}: nobody is named here who treats them)")
    return f"owners are told to phone {_and(told)}"


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{'; '.join(words[:-1])}; or {words[-1]}"


def _long(length: dt.timedelta) -> str:
    hours, rest = divmod(length, HOUR)
    minutes = int(rest.total_seconds() // 60)
    parts = [f"{hours} h"] if hours else []
    return " ".join([*parts, *([f"{minutes} min"] if minutes or not hours else [])])


def _told(moment: dt.datetime, zone: ZoneInfo) -> str:
    """With its zone where the clock shows the hour twice."""
    local = moment.astimezone(zone)
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return f"{day_words(moment, zone)}{f' ({local:%Z})' if twice else ''}"
