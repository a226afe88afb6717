"""Numbers as a front desk types them."""

from __future__ import annotations

import pytest

from clinic.phones import NotAPhone, read_phone


@pytest.mark.parametrize(
    ("typed", "region", "e164", "is_mobile"),
    [
        ("07700 900123", "GB", "+447700900123", True),  # kept for fiction
        ("+44 7700 900123", "GB", "+447700900123", True),
        ("+44 (0)7700 900123", "GB", "+447700900123", True),  # as on many cards
        ("0044 7700-900-123", "GB", "+447700900123", True),
        ("  01632 960 100 ", "GB", "+441632960100", False),
        ("+44 1632 960100", "DE", "+441632960100", False),  # + beats the practice's country
    ],
)
def test_the_same_number_is_read_however_it_is_written(typed, region, e164, is_mobile):
    found = read_phone(typed, region)

    assert (found.e164, found.is_mobile) == (e164, is_mobile)


def test_a_number_kept_for_fiction_is_taken_with_a_warning():
    assert read_phone("07700 900999", "GB").warning == "This number is kept for fiction: it rings nobody."


def test_beside_the_range_for_fiction_numbers_of_no_network_are_refused():
    with pytest.raises(NotAPhone):
        read_phone("01632 961000", "GB")  # one above +44 1632 960999


@pytest.mark.parametrize(
    ("typed", "region", "is_mobile", "warning"),
    [
        ("020 7946 0018", "GB", False, "This is a landline: it gets calls, never text messages."),  # fiction, London
        ("(202) 555-0143", "US", True, ""),  # fiction; numbers there do not tell landline from mobile
    ],
)
def test_a_landline_is_known_where_numbers_tell(typed, region, is_mobile, warning):
    found = read_phone(typed, region)

    assert (found.is_mobile, found.warning) == (is_mobile, warning)


@pytest.mark.parametrize(
    "typed", ["", "  ", "robin", "12345", "07700 90012", "07700 900 1234", "robin@example.org", "+999 12345678"]
)
def test_what_is_no_phone_is_said_so_in_a_sentence(typed):
    with pytest.raises(NotAPhone) as refused:
        read_phone(typed, "GB")

    sentence = str(refused.value)
    assert typed.strip() in sentence
    assert sentence.endswith(".")
    assert "phone number" in sentence


def test_an_extension_is_refused_and_not_cut_off():
    with pytest.raises(NotAPhone, match="has an extension"):
        read_phone("020 7946 0018 ext. 12", "GB")
