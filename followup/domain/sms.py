"""How long a text message is, and which signs are exchanged so that it stays short.

Source: GSM 03.38, now 3GPP TS 23.038 (the two tables), and TS 23.040: one message carries 140 octets; in one of several
a header takes six of them. That is 160 or 153 septets, and 70 or 67 units of two octets.
"""

# ruff: noqa: RUF001 - the signs that look alike are what this module is about
from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from enum import Enum

BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
"""One septet each."""
EXTENSION = frozenset("\f^{}\\[~]|€")
"""Two septets each: an escape and the sign. The two are never parted."""
BEYOND_ONE_UNIT = 0xFFFF
"""A character above this is a pair of units, which are never parted either."""

PLAIN = {
    "’": "'", "‘": "'", "‚": "'", "‛": "'", "`": "'", "´": "'", "′": "'",
    "“": '"', "”": '"', "„": '"', "‟": '"', "«": '"', "»": '"', "″": '"',
    "–": "-", "—": "-", "‑": "-", "‒": "-", "−": "-", "•": "-",
    "…": "...", "ç": "c", "×": "x", "\t": " ", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u200b": "",
    "½": "1/2", "¼": "1/4", "¾": "3/4",
}  # fmt: skip
"""Signs for which the alphabet has another of the same meaning."""
FRACTIONS = "½¼¾"


class Alphabet(Enum):
    """What a text is sent in. The first is chosen whenever it has every sign of the text."""

    GSM7 = "GSM7"
    UCS2 = "UCS2"

    @property
    def in_one(self) -> int:
        """Units that fit into a message that stands alone."""
        return 160 if self is Alphabet.GSM7 else 70

    @property
    def in_each(self) -> int:
        """Units that fit into each of several."""
        return 153 if self is Alphabet.GSM7 else 67


@dataclass(frozen=True)
class Length:
    """`units` are septets in GSM7, pairs of octets in UCS2; `parts` is what is paid for."""

    alphabet: Alphabet
    units: int
    parts: int


def length_of(text: str) -> Length:
    """How long `text` is as a text message. An empty one has no part."""
    alphabet = Alphabet.UCS2 if beyond_gsm(text) else Alphabet.GSM7
    sizes = [_units(sign, alphabet) for sign in text]
    if sum(sizes) <= alphabet.in_one:
        return Length(alphabet, sum(sizes), min(1, len(sizes)))
    return Length(alphabet, sum(sizes), _parts(sizes, alphabet.in_each))


def beyond_gsm(text: str) -> tuple[str, ...]:
    """The signs that make the whole text UCS2, each once, in their order."""
    return tuple(dict.fromkeys(sign for sign in text if sign not in BASIC and sign not in EXTENSION))


def plain(text: str, *, keep: Collection[str] = ()) -> str:
    """`text` with signs that the alphabet lacks exchanged for those of the same meaning.

    `keep`: names, left as they are wherever they stand, also when that makes the message longer: nobody's animal is
    written otherwise.
    """
    return "".join(part if part in keep else _plain(part) for part in _apart(text, keep))


def _apart(text: str, keep: Collection[str]) -> Iterator[str]:
    """The text in pieces: what is kept, and what stands between."""
    names = sorted((name for name in keep if name), key=len, reverse=True)
    yield from re.split(f"({'|'.join(map(re.escape, names))})", text) if names else [text]


def _plain(text: str) -> str:
    apart = re.sub(rf"(?<=\d)(?=[{FRACTIONS}])", " ", text)  # 1½ must not become 11/2
    return "".join(PLAIN.get(sign, sign) for sign in apart)


def _units(sign: str, alphabet: Alphabet) -> int:
    if alphabet is Alphabet.GSM7:
        return 2 if sign in EXTENSION else 1
    return 2 if ord(sign) > BEYOND_ONE_UNIT else 1


def _parts(sizes: list[int], room: int) -> int:
    """Filled one after the other; what does not fit whole begins the next."""
    parts, used = 1, 0
    for size in sizes:
        if used + size > room:
            parts, used = parts + 1, 0
        used += size
    return parts
