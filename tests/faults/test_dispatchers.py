"""Dispatchers die, freeze and run side by side: rows 1, 2, 11 and 12."""

from __future__ import annotations

import random
import time

import pytest

from tests.faults.form import PACE, POSTGRES, SQLITE, databases, sized
from tests.faults.seeds import DUE

pytestmark = pytest.mark.faults

WORKERS = 4


@pytest.mark.parametrize(("number", "on"), [("1", POSTGRES), ("2", SQLITE)])
def test_dispatchers_killed_at_random_lose_nothing_and_send_nothing_three_times(stand, tell, number, on):
    rig = stand(on)
    rig.seed(f"messages({sized(120, 2000)}, by='email')")
    rig.mail.be(takes=0.12)
    names, dice = rig.dispatchers(WORKERS, ready_for=DUE), random.Random(1)

    while rig.kills < sized(6, 40) and rig.count("followup_message", "state = 'ready'"):
        before = len(rig.mail.lines)
        rig.until(lambda before=before: len(rig.mail.lines) > before, "a mail between two kills")
        time.sleep(dice.uniform(0.3, 2))
        rig.kill_and_start(dice.choice(names))
    rig.settle()

    found = rig.figures()
    tell(number, "dispatchers killed every 0.3 to 2 s", on, found)
    assert (found.lost, found.unexpected, found.night) == (0, 0, 0)
    assert found.kills >= sized(3, 20)
    assert found.extra <= found.kills
    assert found.most <= 2


@pytest.mark.parametrize("on", databases(SQLITE))
def test_a_worker_that_wakes_after_its_lease_changes_nothing(stand, tell, on):
    rig = stand(on)
    rig.seed("messages(1, by='email')")
    rig.mail.be(takes=6 / PACE)
    rig.dispatchers(1, ready_for=DUE)
    rig.until(lambda: rig.mail.lines, "a mail that was taken and is not answered yet")
    rig.freeze("dispatch-1")
    assert message(rig)[0] == "leased"
    rig.start("dispatch-2")
    rig.settle()
    before = message(rig)
    rig.kill("dispatch-2")
    rig.thaw("dispatch-1")
    stale = "outcome = 'stale'"
    rig.until(lambda: rig.count("followup_sendattempt", stale), "a stale outcome")

    found = rig.figures()
    tell(
        "12", "a worker frozen for longer than its lease", on, found, "its late outcome is kept as stale, nothing else"
    )
    assert message(rig) == before
    assert before[0] == "sent"
    assert (found.lost, found.unexpected) == (0, 0)
    assert found.extra <= 1


def message(rig):
    """All of the one message."""
    return rig.ask(
        "SELECT state, attempts, unknown_outcomes, lease_token, sent_at, not_before, last_error"
        " FROM followup_message WHERE key LIKE 'due %'"
    )[0]
