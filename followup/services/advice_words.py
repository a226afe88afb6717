"""The words of advice that do not depend on the hour: headings by level, and what to look for by species."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from followup.domain.terms import GRAZERS, Level, Species

DISCLAIMER = gettext_noop(
    "Nobody has examined your animal for this advice. It does not replace your vet: "
    "your vet and the rules where you live decide. If you are worried, phone."
)

HEADINGS = {
    Level.EMERGENCY: gettext_noop("Phone a vet now"),
    Level.URGENT: gettext_noop("Phone today"),
    Level.MONITOR: gettext_noop("Keep a close eye, and phone if it gets worse"),
    Level.ON_TRACK: gettext_noop("Nothing you told us worries us today"),
}

EVERY = (
    gettext_noop("breathing hard, or with an open mouth"),
    gettext_noop("lying flat, cold, or not to be woken"),
    gettext_noop("blood that drips, or a wound that opens"),
    gettext_noop("a lump at the wound or in the groin that was not there before"),
)
"""What turns any of our patients into an emergency. Source: clinical defaults, 4."""

GRAZER = gettext_noop("eats nothing, or leaves no droppings, for longer than 6 hours")
"""Source: clinical defaults, 2: a guinea pig's or rabbit's gut stops when it does not eat."""


def watch_for(patient: str, species: Species, level: Level) -> tuple[str, ...]:
    """What to look for and phone about; in an emergency, what to do until somebody answers."""
    if level is Level.EMERGENCY:
        return (
            _("Keep %(patient)s warm, quiet and in a carrier.") % {"patient": patient},
            _("Give no food and no medicine unless the vet on the phone says so."),
            _("If nobody answers, ring the second number, or set off for the address."),
        )
    first = (_(GRAZER),) if species in GRAZERS else ()
    return first + tuple(_(each) for each in EVERY)
