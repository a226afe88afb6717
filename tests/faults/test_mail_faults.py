"""The mail server says no, says nothing, or is not there: rows 7 and 9."""

from __future__ import annotations

import pytest

from tests.faults.conftest import POSTGRES, SQLITE
from tests.faults.form import sized
from tests.faults.seeds import DUE

pytestmark = pytest.mark.faults


@pytest.mark.parametrize("on", [SQLITE, POSTGRES])
def test_mail_that_is_put_off_arrives_all_the_same_and_once(stand, tell, on):
    rig = stand(on)
    rig.seed(f"messages({sized(150, 1000)}, by='email')")
    rig.mail.be(refused=0.3)
    rig.be_at(DUE)
    rig.dispatchers(2)
    rig.settle(patience=300)

    found = rig.figures()
    tell("7", "the mail server answers 451 to 30 % of the tries", on, found)
    assert found.delivered == found.planned
    assert (found.lost, found.extra, found.unexpected, found.night) == (0, 0, 0, 0)
    tried_again = rig.count("followup_message", "attempts > 1")
    assert tried_again > found.planned / 10, "the sink did refuse"


@pytest.mark.parametrize("on", [SQLITE, POSTGRES])
def test_mail_that_is_taken_in_silence_goes_out_twice_at_most_then_a_person_looks(stand, tell, on):
    rig = stand(on)
    rig.seed(f"messages({sized(80, 400)}, by='email')")
    rig.mail.be(silent=0.1)
    rig.be_at(DUE)
    rig.dispatchers(2)
    rig.settle(patience=600)

    found = rig.figures()
    parked = rig.ask("SELECT id FROM followup_message WHERE state = 'parked'")
    tasks = {key for (key,) in rig.ask("SELECT key FROM followup_task")}
    tell("9", "mail to 10 % is taken without a word", on, found, f"{len(parked)} parked, each a task")
    assert (found.lost, found.unexpected, found.night) == (0, 0, 0)
    assert found.most == 2
    assert found.extra == len(parked) > 0
    assert {f"undelivered:{pk}" for (pk,) in parked} <= tasks
