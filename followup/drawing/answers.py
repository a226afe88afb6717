"""Which of our drawings stands beside an answer: a name in templates/followup/drawings, without its end.

A drawing only helps to recognise what the words say; no answer is told by its drawing alone. The shapes are drawn from
memory, no source: oblong droppings of guinea pigs, round ones of rabbits, the clumps that a rabbit eats again.
"""

from __future__ import annotations

from followup.domain.case import Case
from followup.domain.terms import GRAZERS, Closure, Species

_HAS_PELLETS = GRAZERS | {Species.RAT}

_DROPPINGS = {
    "normal": "droppings_{species}_normal",
    "fewer": "droppings_{species}_fewer",
    "soft": "droppings_soft",
    "night_droppings_left": "droppings_clumps",
    "diarrhoea": "droppings_runny",
    "none": "droppings_none",
}
_POSTURES = {
    ("demeanour", "bright"): "posture_{species}_bright",
    ("demeanour", "quiet"): "posture_{species}_quiet",
    ("demeanour", "dull"): "posture_{species}_hunched",
    ("demeanour", "collapsed"): "posture_{species}_flat",
    ("pain_signs", "hunched"): "posture_{species}_hunched",
    ("pain_signs", "belly_pressing"): "posture_{species}_pressing",
}
_WOUNDS = {
    ("wound.edges", "closed"): "wound_closed",
    ("wound.edges", "slightly_open"): "wound_small_gap",
    ("wound.edges", "gaping"): "wound_wide_open",
    ("wound.edges", "tissue_showing"): "wound_from_inside",
    ("wound.bleeding", "spots"): "wound_spots",
    ("wound.bleeding", "steady_drip"): "wound_drips",
    ("wound.swelling", "mild"): "wound_ridge",
    ("wound.swelling", "marked"): "wound_swollen",
    ("wound.swelling", "soft_bulge"): "wound_lump",
}
_POUCH = {
    "normal": "pouch_empty",
    "mild_swelling": "pouch_little_swollen",
    "marked_swelling": "pouch_very_swollen",
    "soft_bulge": "pouch_lump",
}


def drawing_of(key: str, answer: str, case: Case) -> str:
    """The drawing beside this answer to this question about this patient; empty: words alone.

    All wound drawings show stitches, so a wound that was left open has none.
    """
    species = case.patient.species
    name = ""
    if key == "faeces" and species in _HAS_PELLETS:
        name = _DROPPINGS.get(answer, "")
    elif key == "scrotum_or_groin":
        name = _POUCH.get(answer, "")
    elif species in GRAZERS:
        name = _POSTURES.get((key, answer), "")
    if not name and case.discharge.closure is not Closure.LEFT_OPEN:
        name = _WOUNDS.get((key, answer), "")
    return name.format(species=species.value)
