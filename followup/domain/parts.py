"""The answers that make up a picture and a decision before sleep: judged by `pictures` and `night`, then explained.

Source: clinical defaults, 4 and 6.9.
"""

from __future__ import annotations

from followup.domain.answers import Question
from followup.domain.sources import Fact

DULL: tuple[Fact, ...] = ((Question.DEMEANOUR, "dull"), (Question.DEMEANOUR, "collapsed"))
UNWELL: tuple[Fact, ...] = (*DULL, (Question.BELLY, "tight_or_drum"), (Question.WARMTH, "cold_all_over"))
"""With which a food clock that runs into the night is an emergency at once; see `night`."""

BLEEDING: dict[str, tuple[Fact, ...]] = {
    "pale gums": ((Question.GUMS, "pale"), (Question.GUMS, "blue")),
    "cold all over": ((Question.WARMTH, "cold_all_over"),),
    "dull": DULL,
    "belly swollen": ((Question.BELLY, "swollen"), (Question.BELLY, "tight_or_drum")),
    "breathing fast": ((Question.BREATHING, "fast"), (Question.BREATHING, "laboured")),
}
"""Each sign of bleeding in words, with the answers that show it."""

PARTS: dict[str, tuple[Fact, ...]] = {
    "stasis": DULL,
    "bleeding": tuple(fact for facts in BLEEDING.values() for fact in facts),
    "diarrhoea": ((Question.FAECES, "diarrhoea"),),
    "no_stool_and_ill": (),
}
"""The answers that each picture reads."""
