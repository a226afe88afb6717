"""Texts filled in: whose words, how long as a text message, how hard to read."""

# ruff: noqa: RUF001 - signs that look alike are what is tried
from __future__ import annotations

import datetime as dt

import pytest
from django.conf import settings

from clinic.models import OpeningHours
from followup.domain.reading_grade import HARDEST, grade
from followup.domain.sms import Alphabet, length_of
from followup.domain.terms import FollowUpError, Level
from followup.domain.wording import ADVICE, ALERT, BY_KEY, CHECK_IN, DOSE, LINK, REVISED, TO_OWNERS, WELCOME, Text
from followup.messaging.channel import Letter
from followup.models import Message, Plan, PracticeText
from followup.services.advice import advice_for
from followup.services.change_text import ChangedMeanwhile, change_text, give_up_own_text, seen_of
from followup.services.escalate import escalate
from followup.services.letters import letter_for
from followup.services.practice_texts import preview_of, texts_of
from followup.services.texts import Slot, fill, read_aloud, words_of
from tests import world
from tests.services.post import message, nothing_waits
from tests.services.test_review import bleeding

pytestmark = pytest.mark.django_db

EVENING = world.at("20:00")
IN_TWO = {
    "welcome": "both numbers that answer, and to keep the link: the owner looks for this one later",
    "dose": "medicine with its strength, and the whole caution",
    "check_in_and_dose": "as medicine",
    "check_in_and_dose_of_several": "as medicine",
    "held_dose": "whom to phone, until when, and whom else",
    "revised": "what has changed",
    "advice": "what to do is never cut",
    "goodbye": "the late signs to phone about",
    "second_carer": "who was asked, and advice: whom to phone, and that it does not replace a vet",
    "reached_a_vet": "both numbers that answer",
}
"""Text messages that take two parts, and why."""


@pytest.fixture
def practice(settings):
    settings.PUBLIC_URL = "https://follow-up.example.org"
    return world.practice()


def own(practice, key="check_in", language="en", **words) -> PracticeText:
    words = {"subject": "Hello", "body": "And {patients}? {link}", "short": "{patients}? {link}"} | words
    vet = world.staff(practice)
    return PracticeText.objects.create(
        practice=practice, key=key, language=language, changed_by=vet, changed_at=EVENING, **words
    )


def letter(row: Message) -> Letter:
    found = letter_for(row)
    assert found is not None
    return found


def check_in(practice, language="en", **words) -> Text:
    known = {"patients": "Pip", "practice": practice.name, "phone": "01632 960100", "provider_phone": "-"}
    return fill(CHECK_IN, of=practice, language=language, **known | words)


def test_ordinary_words_need_one_part_or_two_for_a_reason(practice):
    parts = {each.slot.ours.key: each.preview.length for each in texts_of(practice, language="en")}
    assert {key: length.parts for key, length in parts.items()} == {key: 2 if key in IN_TWO else 1 for key in BY_KEY}
    assert {length.alphabet for length in parts.values()} == {Alphabet.GSM7}


def test_the_sample_is_as_long_as_the_real_thing(practice):
    """A name of eight letters, a link of real length."""
    plan = world.running_plan(where=practice)
    real = letter(
        message(plan, to=nothing_waits(plan), now=EVENING, medium="sms", text=Text("a", "b", short=LINK))
    ).body
    shown = next(each for each in texts_of(practice, language="en") if each.slot.ours is CHECK_IN)
    sample = next(word for word in shown.preview.text.short.split() if "://" in word)
    assert len(sample) == len(real) == len("https://follow-up.example.org/o/elm-street/") + 41
    assert "Hazelnut" in shown.preview.text.short


@pytest.mark.parametrize("ours", TO_OWNERS, ids=lambda text: text.key)
def test_every_text_reads_at_grade_five_or_below(practice, ours):
    preview = preview_of(Slot(practice, ours, "en"), ours)
    for found, words in ((preview.grade, preview.text.body), (preview.short_grade, preview.text.short)):
        assert found is not None
        assert found <= HARDEST, words
    assert not preview.is_hard


def states_of(practice):
    """Open; closed with a provider; on call; closed without one; closed for weeks."""
    yield world.at("16:00")
    yield world.at("20:00")
    yield world.at("03:00", day=1)
    world.on_call(practice, world.staff(practice))
    yield world.at("20:00")
    practice.providers.all().delete()
    yield world.at("20:00")
    OpeningHours.objects.all().delete()
    yield world.at("20:00")


@pytest.mark.parametrize("species", ["guinea_pig", "rabbit"])
def test_advice_of_every_level_and_hour_reads_at_grade_five_or_below(practice, species):
    plan = world.running_plan(species, where=practice)
    found: list[str] = []
    for now in states_of(practice):
        plan = type(plan).objects.get(pk=plan.pk)
        for level in Level:
            advice = advice_for(plan, level, now=now)
            page = [advice.heading, advice.action, *advice.what_to_watch, advice.what_happened, advice.asks_again]
            text = fill(
                ADVICE,
                of=practice,
                language="en",
                **{
                    **words_of([plan]),
                    "heading": advice.heading,
                    "phone": read_aloud(advice.phone),
                    "phone_name": advice.phone_name,
                    "action": advice.action,
                    "what_happened": advice.what_happened,
                    "disclaimer": advice.disclaimer,
                },
            )
            found += [text.body, text.short, "\n".join([*page, advice.disclaimer]), advice.action]
    assert [(round(grade(words), 1), words) for words in found if grade(words) > HARDEST] == []
    assert len(set(found)) > 30


def test_a_changed_plan_with_ordinary_changes_reads_at_grade_five_or_below(practice):
    said = (
        "meloxicam 0.5 mg/ml: 0.2 ml from now on, no longer 0.18 ml. Next dose tomorrow at 10:00, 3 doses to come, "
        "the last on Thursday at 10:00. We ask you at other times from now on."
    )
    plan = world.running_plan(where=practice)
    text = fill(REVISED, of=practice, language="en", **words_of([plan]), changes=said)
    assert grade(text.body) <= HARDEST
    assert length_of(text.short.replace(LINK, "x" * 84)).parts == 3  # the longest that is usual: said whole


def test_a_practices_own_words_take_the_place_of_ours_and_keep_our_caution(practice):
    own(practice)
    said = check_in(practice)
    assert said.subject == "Hello"
    assert said.body == "And Pip? {link}\n\nWorried? Do not wait for us, phone 01632 960100."
    assert said.short == "Pip? {link} Worried? Phone 01632 960100"


def test_another_practice_another_text_and_another_language_keep_ours(practice):
    own(world.practice("other-street"))
    own(practice, key="reminder")
    own(practice, language="fr")
    assert check_in(practice).subject == "How is Pip?"
    assert check_in(practice, language="fr").subject == "Hello"


def test_own_words_that_cannot_be_sent_any_more_give_way_to_ours_and_the_list_says_so(practice):
    own(practice, body="{gone_with_a_version} {patients} {link}")
    assert check_in(practice).body.startswith("How is Pip? Please look now")
    assert [each.slot.ours.key for each in texts_of(practice, language="en") if each.broken] == ["check_in"]


def test_no_text_message_of_their_own_is_ours(practice):
    own(practice, short="")
    assert check_in(practice).short.startswith("Elm Street Clinic: how is Pip?")


def test_an_alert_is_never_in_own_words(practice):
    own(practice, key="")
    words = dict.fromkeys(["patient", "species", "day", "procedure", "because", "owner", "phone", "told"], "x")
    assert fill(ALERT, of=practice, language="en", **words).subject == "EMERGENCY x, x, day x"


def test_what_is_filled_in_is_not_filled_in_again_and_opens_nothing(practice):
    said = check_in(practice, patients="{phone} {practice.slug}")
    assert "{phone} {practice.slug}" in said.body
    assert check_in(practice, patients="Pip\r\nBcc: x@example.org").subject == "How is Pip Bcc: x@example.org?"


def test_in_a_text_message_a_name_stays_and_the_words_around_it_are_exchanged(practice):
    own(practice, short="“{patients}” – how’s it going? {link}")
    said = check_in(practice, patients="Zoë O’Hara")
    assert said.short.startswith('"Zoë O’Hara" - how\'s it going? {link}')
    assert said.body.startswith("And Zoë O’Hara?")


def test_by_text_message_the_short_words_go_out_without_a_subject(practice):
    plan = world.running_plan(where=practice)
    robin = nothing_waits(plan)
    text = Text("How is Pip?", "Please look. {link}", short="Pip? {link}")
    by_sms = letter(message(plan, to=robin, now=EVENING, key="a", medium="sms", text=text))
    by_mail = letter(message(plan, to=robin, now=EVENING, key="b", medium="email", text=text))
    assert by_sms.subject == ""
    assert by_sms.body.startswith(f"Pip? {settings.PUBLIC_URL}/o/elm-street/")
    assert (by_mail.subject, by_mail.body.split()[0]) == ("How is Pip?", "Please")


def test_a_message_without_short_words_goes_out_whole(practice):
    plan = world.running_plan(where=practice)
    row = message(
        plan, to=nothing_waits(plan), now=EVENING, medium="sms", text=Text("How is Pip?", "Please look. {link}")
    )
    assert letter(row).body.startswith("Please look. https://")


def test_what_is_queued_keeps_its_short_words(practice):
    plan = world.running_plan(where=practice)
    welcome = Message.objects.get(plan=plan, purpose="welcome")
    assert welcome.short == (
        "Elm Street Clinic: we will ask how Pip is. Keep this link: {link} "
        "Worried? Phone 01632 960100. When we are closed: 01632 960200"
    )


def test_an_alert_by_text_message_says_the_same_in_short(practice):
    plan = world.running_plan(where=practice)
    world.on_call(practice, world.staff(practice))
    bleeding(plan)
    escalate(now=EVENING + dt.timedelta(minutes=10))
    alert = Message.objects.filter(audience="staff", purpose="alert").earliest("pk")
    assert alert.short.startswith("EMERGENCY Pip, guinea pig, day 0: ")
    assert alert.short.endswith(f"Owner {read_aloud(plan.patient.owner.phone)}. Say that you have it: {{link}}")


def test_a_change_is_kept_in_the_log_with_what_stood_there_before(practice):
    slot, vet = Slot(practice, CHECK_IN, "en"), world.staff(practice)
    first = Text("Hello", "And {patients}? {link}", short="{patients}? {link}")
    change_text(slot, first, seen="", staff=vet, now=EVENING)
    later = EVENING + dt.timedelta(hours=1)
    change_text(slot, Text("Hi", "{patients}: {link}"), seen=seen_of(slot.row()), staff=vet, now=later)
    assert give_up_own_text(slot, staff=vet, now=later) is True
    assert give_up_own_text(slot, staff=vet, now=later) is False

    log = practice.events.filter(plan=None, data__key="check_in").order_by("pk")
    assert [each.what for each in log] == ["text_changed", "text_changed", "text_given_up"]
    assert [each.data["old"] and each.data["old"]["subject"] for each in log] == [None, "Hello", "Hi"]
    assert log[1].data["old"]["body"] == "And {patients}? {link}"
    assert not PracticeText.objects.exists()


def test_who_saw_an_older_text_does_not_overwrite_a_newer_one(practice):
    slot, vet = Slot(practice, CHECK_IN, "en"), world.staff(practice)
    change_text(slot, Text("Hello", "{patients} {link}"), seen="", staff=vet, now=EVENING)
    for seen in ("", "2025-01-01T00:00:00+00:00", "nonsense"):
        with pytest.raises(ChangedMeanwhile):
            change_text(slot, Text("Late", "{patients} {link}"), seen=seen, staff=vet, now=EVENING)
    assert PracticeText.objects.get().subject == "Hello"


def test_a_dose_is_never_left_out_of_own_words(practice):
    slot = Slot(practice, DOSE, "en")
    with pytest.raises(FollowUpError, match="must stand in it") as refused:
        change_text(slot, Text("a", "{patients} {link}"), seen="", staff=world.staff(practice), now=EVENING)
    assert refused.value.field == "body"


def test_where_no_provider_is_named_the_sentence_says_whom_to_phone_all_the_same():
    plan = world.running_plan()
    plan.practice.providers.all().delete()

    said = fill(WELCOME, of=plan.practice, language="en", **words_of([Plan.objects.get(pk=plan.pk)]), first="at 18:30")

    assert "When we are closed, phone the vet on duty near you." in said.body
