"""The way by which staff are alerted is dead: row 30."""

from __future__ import annotations

import time

import pytest

from tests.faults.answering import Answer, Screen, with_a_telephone
from tests.faults.form import PACE, POSTGRES, SQLITE, also

pytestmark = pytest.mark.faults

SECOND_WAY = 300
"""Seconds within which an emergency must have gone by another way."""
EMERGENCY = Answer(("laboured",), question="breathing")


@pytest.mark.parametrize(
    ("number", "dead", "on"),
    [
        ("30", "refuses everybody", SQLITE),
        ("30b", "hangs", POSTGRES),
        *also(("30c", "takes it without a word", SQLITE), ("30d", "is not there", POSTGRES)),
    ],
)
def test_an_emergency_goes_by_the_other_way_and_stands_on_the_list_at_once(stand, tell, number, dead, on):
    rig = stand(on)
    telephone = with_a_telephone(rig)
    rig.serve()
    rig.until(telephone.answers, "the owner's page")
    screen = Screen(rig)
    {
        "refuses everybody": lambda: rig.mail.be(nobody=1.0),
        "hangs": lambda: rig.freeze("mail"),
        "takes it without a word": lambda: rig.mail.be(silent=1.0),
        "is not there": lambda: rig.processes.kill("mail"),
    }[dead]()

    begun = time.monotonic()
    assert telephone.post(EMERGENCY).is_a_receipt
    listed = screen.page("/")
    rig.until(lambda: [line for line in rig.texts.lines if line.to == "+447700900500"], "an alert by text message",
              patience=SECOND_WAY / PACE + 30)  # fmt: skip
    took = time.monotonic() - begun

    tell(number, f"the mail server {dead}; a red answer", on, None, f"alert by text message after {took:.0f} s")
    assert "Pip" in listed
    assert "breathing" in listed.lower()
    assert took <= SECOND_WAY
