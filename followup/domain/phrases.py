"""An owner's text as a row of words, and phrases that are looked for in it. However it was typed, it reads the same.

Capitals, accents, curled apostrophes and hyphens make no difference: "N'A", "n'a" and "na" are one, and so are
"läuft", "laeuft" and "lauft".
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

Phrase = tuple[str, ...]
"""Words that stand side by side. A word that ends in a star stands for every word that begins so."""

STOP, ASKED, COMMA, COLON, OR = ".", "?", ",", ":", "/"
"""What is kept of punctuation, as words of their own. No phrase holds one, so that none reaches across."""

BREAKS = frozenset({STOP, ASKED, COMMA, COLON})
SENTENCE_ENDS = frozenset({STOP, ASKED})

_APOSTROPHES = re.compile("[\N{RIGHT SINGLE QUOTATION MARK}\N{LEFT SINGLE QUOTATION MARK}\N{ACUTE ACCENT}`\u02bc]")
_PICTURES = "\u2600-\u27bf\U0001f000-\U0001faff"
"""Small pictures stand where a full stop would."""

_ENDS = rf"[.!?;\n\u2026\u00bf\u00a1{_PICTURES}]"
_PARTS = re.compile(
    r"(?P<word>\d+(?:[.,:]\d+)+|[^\W_]+(?:'[^\W_]+)*)"
    rf"|(?P<end>{_ENDS}(?:\s*{_ENDS})*)"
    r"|(?P<comma>[,()])|(?P<colon>[:=\u2013\u2014]|\s-+\s)|(?P<or>/)"
)
_CONTRACTED = re.compile(r"(\w{2,}|i)'(t|s|re|ve|d|m)")
"""English drops a letter where French drops one, but at the other end of the word."""

_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
_LIGATURES = str.maketrans({"œ": "oe", "æ": "ae", "ø": "o"})
_WRITTEN = re.compile(r"\(([^()]+)\)|([^\s()]+)")
MOST_SPELLINGS = 3000
"""More ways to write one entry of a list are a slip of the one who wrote it."""


@dataclass(frozen=True)
class Text:
    """`words` are folded and hold the punctuation that counts; `places` say where each was written in `written`."""

    written: str
    words: Phrase
    places: tuple[tuple[int, int], ...]

    def quote(self, start: int, end: int) -> str:
        """What the owner wrote from the word `start` to the one before `end`."""
        return self.written[self.places[start][0] : self.places[end - 1][1]]


class Phrases:
    """Phrases that can be looked for from either end. The longest wins."""

    def __init__(self, phrases: Iterable[Phrase] = ()) -> None:
        """Sort them by the word at which they are met."""
        self._by_first: dict[str, list[Phrase]] = {}
        self._by_last: dict[str, list[Phrase]] = {}
        every = sorted(set(phrases), key=_longest)
        self._stems = [each for each in every if any(word.endswith("*") for word in each)]
        for each in every:
            if each in self._stems:
                continue
            self._by_first.setdefault(each[0], []).append(each)
            self._by_last.setdefault(each[-1], []).append(each)

    def at(self, words: Sequence[str], start: int) -> int:
        """How many words the longest phrase takes that begins at `start`; 0: none."""
        if start >= len(words):
            return 0
        found = (
            each for each in self._by_first.get(words[start], ()) if tuple(words[start : start + len(each)]) == each
        )
        stems = (each for each in self._stems if _fits(each, words[start : start + len(each)]))
        return max(len(next(found, ())), len(next(stems, ())))

    def before(self, words: Sequence[str], end: int) -> int:
        """How many words the longest phrase takes that ends just before `end`; 0: none."""
        if end <= 0:
            return 0
        known = self._by_last.get(words[end - 1], ())
        found = (each for each in known if len(each) <= end and tuple(words[end - len(each) : end]) == each)
        stems = (each for each in self._stems if len(each) <= end and _fits(each, words[end - len(each) : end]))
        return max(len(next(found, ())), len(next(stems, ())))


def text_of(written: str) -> Text:
    """The words of a text, in order."""
    plain = _APOSTROPHES.sub("'", unicodedata.normalize("NFC", written))
    words: list[str] = []
    places: list[tuple[int, int]] = []
    for part in _PARTS.finditer(plain):
        for word in _words_in(part):
            words.append(word)
            places.append(part.span())
    return Text(plain, tuple(words), tuple(places))


def spellings(written: str) -> tuple[Phrase, ...]:
    """Every phrase that one entry of a list stands for.

    "off (his/her) food": a slash is "one or the other", brackets are "or left out". Raises ValueError.
    """
    slots: list[tuple[Phrase, ...]] = []
    for optional, needed in _WRITTEN.findall(written):
        options = {form for each in (optional or needed).split("/") for form in _forms(each)}
        slots.append(tuple(sorted(options | ({()} if optional else set()))))
    many = 1
    for slot in slots:
        many *= len(slot)
    if many > MOST_SPELLINGS:
        raise ValueError("stands for too many phrases: write it as several")
    found = {tuple(word for part in parts for word in part) for parts in product(*slots)}
    if not found or () in found:
        raise ValueError("holds no word that must be there")
    return tuple(sorted(found))


def _forms(word: str) -> set[Phrase]:
    """The ways to type one word: umlauts as two letters or none, an apostrophe or none."""
    bare = word.removesuffix("*")
    star = "*" if bare != word else ""
    if not re.fullmatch(r"[^\W_]+(?:['\u2019-][^\W_]+)*", bare):
        raise ValueError(f"holds {word!r}, which is no word")
    typed = _APOSTROPHES.sub("'", unicodedata.normalize("NFC", bare).casefold())
    both = {typed, typed.translate(_UMLAUTS)}
    found = {tuple(part for each in form.split("-") for part in _split(each)) for form in both}
    found |= {tuple(_fold(each.replace("'", "")) for each in form.split("-")) for form in both}
    return {(*each[:-1], each[-1] + star) for each in found}


def _words_in(part: re.Match[str]) -> list[str]:
    if part["word"]:
        return _split(part["word"].casefold())
    if part["end"]:
        return [ASKED if "?" in part["end"] else STOP]
    return [COMMA if part["comma"] else COLON if part["colon"] else OR]


def _split(word: str) -> list[str]:
    """ "isn't" is one word, "n'a" are two."""
    whole = word.replace("'", "") if _CONTRACTED.fullmatch(word) else word
    return [_fold(each) for each in whole.split("'")]


def _fold(word: str) -> str:
    """Without accents."""
    parts = unicodedata.normalize("NFKD", word.casefold().translate(_LIGATURES))
    return "".join(each for each in parts if not unicodedata.combining(each))


def _fits(phrase: Phrase, words: Sequence[str]) -> bool:
    return len(words) == len(phrase) and all(
        word.startswith(pattern[:-1]) if pattern.endswith("*") else word == pattern
        for pattern, word in zip(phrase, words, strict=True)
    )


def _longest(phrase: Phrase) -> tuple[int, Phrase]:
    return -len(phrase), phrase
