"""What a practice may write in place of our texts, and what is refused, in which words."""

from __future__ import annotations

import pytest

from followup.domain.own_words import MEANINGS, Part, allowed, fault_in, fill_in, in_full, is_sound, names_in, tidy
from followup.domain.wording import ADVICE, CHECK_IN, DOSE, TO_OWNERS, WELCOME, Text

GOOD = "How is {patients} today? {link}"


def body(text: str, ours: Text = CHECK_IN) -> str:
    return fault_in(tidy(text), ours, Part.BODY)


def subject(text: str) -> str:
    return fault_in(tidy(text), CHECK_IN, Part.SUBJECT)


def test_words_with_what_they_need_are_taken():
    assert body(GOOD) == ""
    assert subject("Hello from {practice} 🐹") == ""


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("{patients} {link", "A brace stands alone"),
        ("{{ {patients} {link}", "A brace stands alone"),
        ("{{patients}} {link}", "A brace stands alone"),
        ("{patients} {link} }", "A brace stands alone"),
        ("{0} {patients} {link}", "{0} is not known here"),
        ("{} {patients} {link}", "{} is not known here"),
        ("{patients.practice} {link}", "{patients.practice} is not known here"),
        ("{patients.__class__} {link}", "{patients.__class__} is not known here"),
        ("{patients[0]} {link}", "{patients[0]} is not known here"),
        ("{patients!r} {link}", "{patients!r} is not known here"),
        ("{patients:>99} {link}", "{patients:>99} is not known here"),
        ("{owner} {patients} {link}", "{owner} is not known here"),
        ("{doses} {patients} {link}", "{doses} is not known here"),  # a check-in has none
        ("{ patients } {link}", "{ patients } is not known here"),
        ("{Patients} {link}", "{Patients} is not known here"),
        ("How is {patients}?", "{link} must stand in it: the owner's own link."),
        ("{link}", "{patients} must stand in it: the animal's name"),
        ("How are you?", "{patients} and {link} must stand in it"),
        ("", "This is needed."),
        (" \r\n ", "This is needed."),
        (f"{GOOD}{'x' * 5000}", "Write at most 1,500 characters; these are 5,031."),
        (f"{GOOD}\x07", "a sign in it that nobody sees (U+0007)"),
        (f"{GOOD}\u202e00961", "a sign in it that nobody sees (U+202E)"),
        (f"{GOOD}\u2067", "a sign in it that nobody sees (U+2067)"),
    ],
)
def test_what_cannot_be_sent_is_refused_in_a_sentence(typed, says):
    assert says in body(typed)


def test_an_unknown_placeholder_is_answered_with_those_that_are_known():
    assert body("{name} {link}") == (
        "{name} is not known here. You can write {patients}, {link}, {phone}, {practice}, {provider_phone}."
    )


@pytest.mark.parametrize("typed", ["one\r\nBcc: x@example.org", "one\ntwo", "one\rtwo", "one\x85two", "one\u2028two"])
def test_a_subject_is_one_line(typed):
    assert subject(typed) == "A subject is one line: it may hold no line break."


def test_a_subject_holds_no_link_and_no_medicine():
    assert "{link} is not known here" in subject("{link}")
    assert "{doses} is not known here" in fault_in("{doses}", DOSE, Part.SUBJECT)
    assert fault_in("{patients}: {heading}", ADVICE, Part.SUBJECT) == ""


def test_no_text_message_of_their_own_is_in_order():
    assert fault_in("", CHECK_IN, Part.SHORT) == ""
    assert (
        fault_in("{link}", CHECK_IN, Part.SHORT)
        == "{patients} must stand in it: the animal's name; of several, all names."
    )


@pytest.mark.parametrize(
    "typed",
    ["🐹 {patients} {link} 🐰", "מה שלום {patients}? {link}", "كيف حال {patients}؟ {link}", "<b>{patients}</b> {link}"],
)
def test_any_script_emoji_and_what_looks_like_html_are_words_like_others(typed):
    assert body(typed) == ""


def test_line_ends_become_one_kind():
    assert tidy(" a \r\nb\rc\n\n\n\nd\t\u2028e ") == "a\nb\nc\n\nd\ne"


def test_only_a_name_in_braces_is_filled_in_and_only_once():
    words = {"patients": "{link}", "link": "https://a.example.org"}
    assert fill_in("{patients} {link} {patients.x} {{", words) == "{link} https://a.example.org {patients.x} {{"


def test_what_ours_must_say_theirs_must_say():
    assert allowed(WELCOME, Part.BODY).must == ("patients", "link")
    assert set(allowed(WELCOME, Part.BODY).may) == {"patients", "link", "phone", "practice", "provider_phone", "first"}
    assert {"heading", "action", "phone", "link"} <= set(allowed(ADVICE, Part.BODY).must)
    assert {"doses", "link"} <= set(allowed(DOSE, Part.SHORT).must)


def test_own_words_never_leave_out_our_cautions():
    own = in_full(Text("Hello", GOOD), DOSE)
    assert (own.subject, own.body) == ("Hello", GOOD)
    assert (own.caution, own.short, own.short_caution) == (DOSE.caution, DOSE.short, DOSE.short_caution)
    assert is_sound(in_full(Text("Hello", GOOD), CHECK_IN), CHECK_IN)
    assert not is_sound(own, DOSE)  # the medicine is missing


@pytest.mark.parametrize("ours", TO_OWNERS, ids=lambda text: text.key)
def test_our_own_texts_pass_what_is_asked_of_theirs(ours):
    assert is_sound(ours, ours)
    for field in (ours.subject, ours.body, ours.short):
        assert set(names_in(field)) <= set(MEANINGS)
