"""Owners' links: only the whole code opens the page, and the database alone cannot make one."""

from __future__ import annotations

import pytest

from followup.models import Recipient
from followup.services.links import find, path_of
from tests import world

pytestmark = pytest.mark.django_db


@pytest.fixture
def recipient() -> Recipient:
    return world.running_plan().practice.recipients.get()


def code_of(recipient: Recipient) -> str:
    return path_of(recipient).rstrip("/").rsplit("/", 1)[1]


def test_the_whole_code_opens_and_any_other_does_not(recipient):
    code = code_of(recipient)
    other = "A" if code[-1] != "A" else "B"

    assert find(recipient.practice.slug, code) == recipient
    for wrong in (code[:-1] + other, code[:-1], code + "A", recipient.nonce, ""):
        assert find(recipient.practice.slug, wrong) is None
    assert find("another-practice", code) is None


def test_the_code_hangs_on_a_key_that_is_not_in_the_database(recipient, settings):
    code = code_of(recipient)
    settings.LINK_KEYS = {recipient.key_number: "another key of more than thirty-two characters"}
    assert find(recipient.practice.slug, code) is None
    settings.LINK_KEYS = {recipient.key_number + 1: "a newer key of more than thirty-two characters"}
    assert find(recipient.practice.slug, code) is None


def test_a_new_value_in_the_row_closes_the_old_link(recipient):
    code = code_of(recipient)
    Recipient.objects.update(nonce="x" * 16)

    assert find(recipient.practice.slug, code) is None
