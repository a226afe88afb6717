"""Danger words in an owner's own words, and their simple denial. They can only raise a level, until a person read them.

Source: clinical defaults, 4. English only so far; the lists stand in the protocols.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from followup.domain.recovery import Recovery
from followup.domain.rules import WordRule
from followup.domain.terms import Certainty
from followup.domain.verdict import Finding

CURLED = "\N{RIGHT SINGLE QUOTATION MARK}"
DENIED_WITHIN = 3
"""A denial counts when it is one of so many words before the danger: "no sign of blood"."""


def word_findings(recovery: Recovery) -> Iterator[Finding]:
    """One finding for each rule whose danger unread words name."""
    for rule in recovery.rules.words:
        named = [(word, seen.at) for seen in recovery.observations if (word := danger_in(seen.text, rule))]
        if named:
            yield Finding(
                rule=rule.code,
                concern=rule.concern,
                level=rule.level,
                certainty=Certainty.CERTAIN,
                because=f"{rule.because}, and nobody has read them yet: “{named[-1][0]}”",
                source=rule.source.text,
                since=named[-1][1],
            )


def danger_in(words: str, rule: WordRule) -> str:
    """The first danger that `words` name and do not deny; empty: none."""
    for sentence in re.split(r"[.!?;\n]|, | but ", _plain(words)):
        for phrase in rule.phrases:
            for found in re.finditer(rf"(?<!\w){re.escape(phrase)}(?!\w)", sentence):
                before = sentence[: found.start()].split()[-DENIED_WITHIN:]
                if not rule.denials.intersection(before):
                    return phrase
    return ""


def _plain(words: str) -> str:
    """Small letters and straight apostrophes, as telephones turn them."""
    return words.casefold().replace(CURLED, "'")
