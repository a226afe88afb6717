"""Whether an owner's own words say that the animal has died. A hint for a person, never a decision.

Source: clinical defaults, 4, "Died": said in words only, everything pauses and a person reads. English only so far.
"""

from __future__ import annotations

import re

SAYS = re.compile(
    r"\b(has|have|had|he|she|it|they|just|sadly|suddenly|who|that|and|also)\s+(just |sadly |suddenly |also )?died\b"
    r"|\b(is|was|found (him|her|it|them)|lying) (now |already |lying )?dead\b"
    r"|\b(has |have )?(passed away|passed on)\b"
    r"|\b(was|been|be) put (to sleep|down)\b"
    r"|^\W*\w+ (died|is dead)\b",
    re.IGNORECASE,
)
DENIES = re.compile(
    r"(\b(not|never|nearly|almost)|n[o']t)\b[^.!?]{0,5}$"
    r"|\b(if|whether|afraid|worried|scared|thought|think|might|could|would|will|going to|battery|phone)\b[^.!?]{0,25}$",
    re.IGNORECASE,
)


def say_died(words: str) -> bool:
    """Whether one sentence says it and nothing before it in that sentence takes it back."""
    return any(
        (found := SAYS.search(sentence)) is not None and not DENIES.search(sentence[: found.end() - 4])
        for sentence in re.split(r"(?<=[.!?\n])\s*", words)
    )
