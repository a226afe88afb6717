"""How hard a text is to read, as a school grade: Flesch-Kincaid, for English.

Source: Kincaid, Fishburne, Rogers, Chissom 1975 (Research Branch Report 8-75):
0.39 x words / sentences + 11.8 x syllables / words - 15.59.

Syllables are counted by spelling, with a list of words that are spelt otherwise than they are said; in doubt one too
many rather than one too few. Left out, since they are looked at and not read: links, numbers and clock times. A colon
ends no sentence here, though a reader may pause there.
"""

from __future__ import annotations

import re
import unicodedata

HARDEST = 5.0
"""The grade that a text for owners should not pass. Common practice for what patients are handed is 6; ours is lower,
because these are read in a hurry."""

FEWEST = 10
"""Words of which the formula says anything; it was made for passages of a hundred."""

LINK = re.compile(r"\S+://\S+")
SENTENCE_END = re.compile(r"[.!?]+(?=[\s\"')\]]|$)|\n+")
WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")  # noqa: RUF001 - both apostrophes are typed

SAID_OTHERWISE = {
    "area": 3, "being": 2, "business": 2, "create": 2, "creature": 2, "diet": 2, "evening": 2, "fluid": 2, "hundred": 2,
    "idea": 3, "people": 2, "quiet": 2, "quieter": 3, "quietly": 3, "reopen": 3, "science": 2, "somebody": 3,
    "something": 2, "sometimes": 2, "therefore": 2, "unique": 2, "wherever": 3, "whoever": 3, "wobbly": 3,
}  # fmt: skip
VOWELS = re.compile(r"[aeiouy]+")
SILENT_END = re.compile(r"(?<=[^aeiou])e$|(?<=[^aeioutd])ed$|(?<=[^aeiousxzcg])es$")
SAID_AFTER_ALL = re.compile(r"[^aeiouyl]le[ds]?$|(?:ch|sh)es$")
SILENT_WITHIN = re.compile(
    r"^(?:every|some|here|there|where|else|home|time)(?=[a-z])|(?<=[^e])e(?=(?:ly|ment|ments|less|ful)$)"
)
"""The second e of "everything", the e of "safely"."""
TWO_VOWELS = re.compile(
    r"(?<![tscgxl])i[aou]|(?<![tc])ie(?:r$|nt|nce)|[aeiouy]ing|eo(?!u)|(?<=[^qg])u[ao]|(?<=[a-z])yo|dn't|sn't"
)


def is_hard(text: str) -> bool:
    """Whether it reads harder than a text for owners should, as far as the formula can tell."""
    return len(WORD.findall(LINK.sub("", text))) >= FEWEST and grade(text) > HARDEST


def grade(text: str) -> float:
    """The grade; of a text without words 0. Short and easy words can give less than 0."""
    sentences = sentences_of(text)
    words = [word for sentence in sentences for word in WORD.findall(sentence)]
    if not words:
        return 0.0
    return flesch_kincaid(len(words), len(sentences), sum(map(syllables, words)))


def flesch_kincaid(words: int, sentences: int, syllables: int) -> float:
    """The formula."""
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


def sentences_of(text: str) -> list[str]:
    """What is read in one breath; a link ends it. Pieces without a word are none."""
    pieces = SENTENCE_END.split(LINK.sub("\n", text))
    return [piece for piece in pieces if WORD.search(piece)]


def syllables(word: str) -> int:
    """How many syllables an English word has; at least one."""
    return sum(_syllables(part) for part in re.split("-", word) if part)


def _syllables(word: str) -> int:
    bare = "".join(each for each in unicodedata.normalize("NFKD", word.casefold()) if not unicodedata.combining(each))
    bare = bare.replace("’", "'").removesuffix("'s")  # noqa: RUF001 - both apostrophes are typed
    if bare in SAID_OTHERWISE:
        return SAID_OTHERWISE[bare]
    said = bare if SAID_AFTER_ALL.search(bare) else SILENT_END.sub("", bare)
    return max(1, len(VOWELS.findall(said)) + len(TWO_VOWELS.findall(said)) - len(SILENT_WITHIN.findall(said)))
