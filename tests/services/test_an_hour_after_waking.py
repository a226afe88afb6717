"""Two answers in the first hour after waking: the second is weighed, whatever the first has told."""

from __future__ import annotations

import pytest

from followup.domain.terms import Level
from followup.models import Reply
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from tests.owner_world import GOOD, pip_at_home
from tests.world import at

pytestmark = pytest.mark.django_db
LESS = {key: GOOD[key] for key in ("urine", "wound", "worried")} | {
    "appetite": ["less"],
    "faeces": ["fewer"],
    "demeanour": ["quiet"],
}
WELL = {"appetite": ["normal"], "faeces": ["normal"], "demeanour": ["bright"], "worried": ["no"], "urine": ["normal"]}


def test_well_at_waking_and_lying_flat_four_minutes_later():
    """Which limits had been reached at 07:00 is asked of what is known at 07:40, and at 07:36 she had eaten."""
    home = pip_at_home()
    for clock, day, answers in (
        ("18:36", 0, LESS),
        ("20:51", 0, LESS),
        ("07:36", 1, WELL),
        ("07:40", 1, {"appetite": ["none"], "faeces": ["none"], "demeanour": ["collapsed"], "worried": ["very"]}),
    ):
        incoming = Incoming(f"at {clock}", together(answers))
        take_reply(home.plan, incoming, author=home.recipient, now=at(clock, day=day))

    assert set(home.plan.replies.values_list("state", flat=True)) == {Reply.State.UNDERSTOOD}
    home.plan.refresh_from_db()
    assert home.plan.level == Level.EMERGENCY
