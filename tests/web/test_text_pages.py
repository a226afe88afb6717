"""A practice reads, tries and changes the texts that its owners get."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from clinic.models import Role
from followup.domain.wording import TO_OWNERS
from followup.messaging.channel import Outcome, Sent
from followup.models import Event, PracticeText
from tests import world
from tests.owner_world import move_clock
from tests.pages import text_of
from tests.services.post import Post
from tests.world import at

pytestmark = pytest.mark.django_db

LIST = "/practice/texts/"
CHECK_IN = "/practice/texts/check_in/"
OWN = {"subject": "Hello from us", "body": "And {patients}?\r\n{link}", "short": "{patients}? {link}", "seen": ""}
QUERIES_OF_THE_LIST = 8
"""Session, log-in, membership, clock and the head's two, as on every page of staff; then two of its own."""


def visitor(role: Role = Role.VET, where: str = "elm-street") -> Client:
    found = Client()
    found.force_login(world.staff(world.practice(where), role))
    return found


@pytest.fixture
def vet() -> Client:
    move_clock(at("12:00", day=1))
    return visitor()


def send(client: Client, do: str, **changes: str):
    return client.post(CHECK_IN, {**OWN, "do": do, **changes})


def test_the_list_names_every_text_and_whose_words_it_is_in(vet):
    send(vet, "save")

    page = text_of(vet.get(LIST))

    assert all(text.name in page for text in TO_OWNERS)
    assert "Hello from us" in page
    assert "Your own words, by Vet of Elm Street Clinic, 11 Mar 2025" in page
    assert page.count("Ours ·") == len(TO_OWNERS) - 1
    assert page.count("hard to read") == 0


def test_the_list_takes_the_same_queries_however_many_are_their_own(vet, django_assert_num_queries):
    with django_assert_num_queries(QUERIES_OF_THE_LIST):
        vet.get(LIST)
    for key in ("check_in", "dose", "reminder"):
        PracticeText.objects.create(
            practice=world.practice(), key=key, language="en", subject="a", body="b",
            changed_by=world.staff(world.practice()), changed_at=at("12:00"),
        )  # fmt: skip
    with django_assert_num_queries(QUERIES_OF_THE_LIST):
        page = text_of(vet.get(LIST))
    assert page.count("Your own words cannot be sent any more, so ours are.") == 3


def test_a_text_is_shown_as_it_arrives_with_parts_and_grades(vet):
    page = text_of(vet.get(CHECK_IN))

    assert "How is Hazelnut? Please look now and tell us here, it takes two minutes: " in page
    assert "Elm Street Clinic: how is Hazelnut? " in page
    assert "1 part, " in page
    assert "Reading grade" in page
    assert "<code>{link}</code> the owner&#x27;s own link, <strong>needed</strong>" in page
    assert "Always stands below the e-mail, and is not changed: <q>Worried?" in page


def test_looking_saves_nothing_and_shows_what_was_typed(vet):
    page = send(vet, "look")

    assert page.status_code == 200
    assert "And Hazelnut?<br>" in text_of(page)
    assert "Nothing is saved yet." in text_of(page)
    assert not PracticeText.objects.exists()


def test_saved_words_are_sent_from_then_on_and_ours_come_back_by_a_button(vet):
    assert send(vet, "save").status_code == 302
    row = PracticeText.objects.get()
    assert (row.subject, row.body, row.language) == ("Hello from us", "And {patients}?\n{link}", "en")
    assert row.changed_by == world.staff(world.practice())
    page = text_of(vet.get(CHECK_IN))
    assert "Sent in your own words, by Vet of Elm Street Clinic" in page
    assert "Before, ours was sent." in page

    vet.post(CHECK_IN, {"do": "ours"})

    assert not PracticeText.objects.exists()
    page = text_of(vet.get(CHECK_IN))
    assert "Sent in our words." in page
    assert "Hello from us" in page  # what stood here before
    assert Event.objects.filter(what="text_given_up", data__old__subject="Hello from us").count() == 1


def test_what_is_wrong_is_said_at_its_field_and_nothing_typed_is_lost(vet):
    page = send(vet, "save", subject="one\r\nBcc: x@example.org", body="{link and {patients.practice}", short="x" * 500)

    assert page.status_code == 422
    shown = text_of(page)
    assert "A subject is one line: it may hold no line break." in shown
    assert "{patients.practice} is not known here. You can write {patients}, {link}" in shown
    assert "Write at most 400 characters; these are 500." in shown
    assert "{link and {patients.practice}</textarea>" in shown
    assert "x" * 500 in shown
    assert not PracticeText.objects.exists()
    assert not Event.objects.filter(what="text_changed").exists()


def test_html_is_sent_as_it_is_typed_and_runs_nowhere(vet):
    page = send(vet, "look", body="<script>alert(1)</script> {patients} {link}")

    assert "&lt;script&gt;alert(1)&lt;/script&gt; Hazelnut" in text_of(page)
    assert "<script>alert" not in text_of(page)


def test_an_emoji_is_allowed_and_its_price_is_said(vet):
    page = text_of(send(vet, "look", short="🐹 {patients}? {link}"))

    assert "each holds 67" in page
    assert "<code>🐹</code> needs an alphabet in which a part holds 70 units and not 160." in page


def test_words_that_read_hard_are_warned_of_and_saved_all_the_same(vet):
    hard = (
        "Notwithstanding unanticipated circumstances, veterinary documentation regarding {patients} necessitates {link}"
    )

    assert "This reads harder than school grade 5." in text_of(send(vet, "look", body=hard))
    assert send(vet, "save", body=hard).status_code == 302
    assert "hard to read" in text_of(vet.get(LIST))


def test_of_two_who_write_at_once_the_second_is_told(vet):
    send(vet, "save")
    page = visitor(Role.ADMINISTRATOR).post(CHECK_IN, {**OWN, "do": "save", "subject": "Later"})

    assert page.status_code == 422
    assert "Somebody has changed this text meanwhile." in text_of(page)
    assert 'value="Later"' in text_of(page)
    assert PracticeText.objects.get().subject == "Hello from us"


def test_another_practice_sees_and_changes_only_its_own(vet):
    send(vet, "save")
    theirs = visitor(where="other-street")

    assert "Hello from us" not in text_of(theirs.get(LIST))
    assert "Hello from us" not in text_of(theirs.get(CHECK_IN))
    theirs.post(CHECK_IN, {"do": "ours"})
    assert PracticeText.objects.get().practice == world.practice()


def test_each_language_of_the_practice_has_its_own(vet):
    world.practice().__class__.objects.update(languages=["en", "fr"])
    vet.post(f"{CHECK_IN}?language=fr", {**OWN, "do": "save", "subject": "Bonjour"})

    assert PracticeText.objects.get().language == "fr"
    assert "Bonjour" not in text_of(vet.get(LIST))
    french = text_of(vet.get(f"{CHECK_IN}?language=fr"))
    assert "Bonjour" in french
    assert "Reading grade" not in french  # the formula is for English
    vet.post(f"{CHECK_IN}?language=xx", {**OWN, "do": "save"})
    assert set(PracticeText.objects.values_list("language", flat=True)) == {"fr", "en"}


@pytest.mark.parametrize("key", ["alert", "nothing", ""])
def test_a_text_that_is_nobodys_has_no_page(vet, key):
    assert vet.get(f"{LIST}{key}/").status_code == 404


@pytest.mark.parametrize("role", [Role.FRONT_DESK, Role.NURSE])
def test_others_change_nothing(vet, role):
    assert send(visitor(role), "save").status_code == 403
    assert visitor(role).post(CHECK_IN, {"do": "test_email"}).status_code == 403
    assert not PracticeText.objects.exists()


def test_without_a_provider_a_test_says_that_nothing_left_the_building(vet):
    page = text_of(send(vet, "test_email"))

    assert "No provider is set up for this, so nothing left the building" in page
    assert "Hello from us" in page
    assert not PracticeText.objects.exists()


@pytest.fixture
def post(vet, monkeypatch) -> Post:
    """Stands where the practice's service would."""
    post = Post()
    monkeypatch.setattr("followup.services.channels.channel_of", lambda _way: post)
    return post


def test_a_test_text_message_goes_to_oneself_alone_in_the_words_of_the_page(vet, post):
    page = text_of(send(vet, "test_sms"))

    (letter,) = post.letters
    assert letter.to == "+447700900500"
    assert letter.subject == ""
    assert letter.body.startswith("Hazelnut? http")
    assert letter.body.endswith(" Worried? Phone 01632 960100")
    assert "Handed over: it should reach you within minutes." in page
    assert not PracticeText.objects.exists()
    assert Event.objects.get(what="text_tried").staff == world.staff(world.practice())


def test_a_refusal_is_said_in_words(vet, post):
    post.answer = Sent(Outcome.PERMANENT, "the service answered 403")

    assert "It was refused. (the service answered 403)" in text_of(send(vet, "test_sms"))


def test_a_channel_that_cannot_be_read_is_said_in_words(vet):
    world.practice().channels.create(medium="sms", secret_url="not ours")

    page = text_of(send(vet, "test_sms"))

    assert "The channel is not set up as it must be. (its settings were kept under another SECRET_KEY" in page


def test_without_a_mobile_number_no_text_message_is_tried(vet, post):
    member = world.staff(world.practice())
    member.mobile = ""
    member.save()

    page = send(vet, "test_sms")

    assert page.status_code == 422
    assert "no mobile number of yours is on record here" in text_of(page)
    assert post.letters == []


def test_the_texts_are_found_from_each_other(vet):
    assert f'href="{reverse("followup:texts")}"' in vet.get(CHECK_IN).content.decode()
    assert f'href="{CHECK_IN}?language=en"' in vet.get(LIST).content.decode()
