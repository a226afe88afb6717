"""How many parts a text message has, against the limits of the standard.

Source of the alphabet and its extension table: GSM 03.38, now 3GPP TS 23.038. Of the limits: the same and 3GPP TS
23.040: 140 octets, less six of header in each of several; 160 or 153 septets, 70 or 67 pairs of octets. The values
below that combine them (a pair that may not be parted at the end of a part) were computed apart from this program.
"""

# ruff: noqa: RUF001 - signs that look alike are what is tried
from __future__ import annotations

import pytest

from followup.domain.sms import BASIC, EXTENSION, Alphabet, Length, length_of

GSM7, UCS2 = Alphabet.GSM7, Alphabet.UCS2


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("A" * 160, Length(GSM7, 160, 1)),
        ("A" * 161, Length(GSM7, 161, 2)),
        ("A" * 306, Length(GSM7, 306, 2)),
        ("A" * 307, Length(GSM7, 307, 3)),
        ("A" * 459, Length(GSM7, 459, 3)),
        ("A" * 460, Length(GSM7, 460, 4)),
        ("€" * 80, Length(GSM7, 160, 1)),
        ("€" * 81, Length(GSM7, 162, 2)),
        ("A" * 152 + "€" + "A" * 152, Length(GSM7, 306, 3)),  # counted without care 2: an escape may not be parted
        ("ê" + "A" * 69, Length(UCS2, 70, 1)),
        ("ê" + "A" * 70, Length(UCS2, 71, 2)),
        ("Ж" * 134, Length(UCS2, 134, 2)),
        ("Ж" * 135, Length(UCS2, 135, 3)),
        ("😀" * 35, Length(UCS2, 70, 1)),
        ("😀" * 36, Length(UCS2, 72, 2)),
        ("A" * 66 + "😀" + "A" * 66, Length(UCS2, 134, 3)),  # counted without care 2: a pair may not be parted
        ("’" + "A" * 69, Length(UCS2, 70, 1)),
    ],
)
def test_units_and_parts(text, expected):
    assert length_of(text) == expected


@pytest.mark.parametrize(
    ("sign", "alphabet"), [("\t", UCS2), ("`", UCS2), ("ç", UCS2), ("’", UCS2), ("é", GSM7), ("Ç", GSM7)]
)
def test_which_alphabet_has_a_sign(sign, alphabet):
    assert length_of(sign).alphabet is alphabet


def test_the_alphabet_has_127_signs_and_its_extension_ten():
    """128 places, one of which is the escape. The extension: nine signs and the form feed."""
    assert (len(BASIC), len(EXTENSION)) == (127, 10)
    assert not BASIC & EXTENSION
