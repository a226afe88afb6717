"""The answers that make up a picture and a decision before sleep, as data: `pictures` and `night` read them so."""

from __future__ import annotations

from followup.domain.answers import Question
from followup.domain.sources import Fact

DULL: tuple[Fact, ...] = ((Question.DEMEANOUR, "dull"), (Question.DEMEANOUR, "collapsed"))
UNWELL: tuple[Fact, ...] = (*DULL, (Question.BELLY, "tight_or_drum"), (Question.WARMTH, "cold_all_over"))
"""With which a food clock that runs into the night is an emergency at once; see `night`."""

PARTS: dict[str, tuple[Fact, ...]] = {
    "stasis": DULL,
    "bleeding": (
        (Question.GUMS, "pale"),
        (Question.GUMS, "blue"),
        (Question.WARMTH, "cold_all_over"),
        *DULL,
        (Question.BELLY, "swollen"),
        (Question.BELLY, "tight_or_drum"),
        (Question.BREATHING, "fast"),
        (Question.BREATHING, "laboured"),
    ),
    "diarrhoea": ((Question.FAECES, "diarrhoea"),),
    "no_stool_and_ill": (),
}
"""The answers that each picture reads; see `pictures`."""
