"""A mail server or a gateway says no, says nothing, or is not there: rows 7 to 10."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.faults.form import POSTGRES, SQLITE, databases, sized
from tests.faults.seeds import DUE

pytestmark = pytest.mark.faults

TICK = 15.0
"""Seconds between two ticks in a clinic."""


@pytest.mark.parametrize("on", databases(POSTGRES))
def test_mail_that_is_put_off_arrives_all_the_same_and_once(stand, tell, on):
    rig = stand(on)
    rig.seed(f"messages({sized(80, 1000)}, by='email')")
    rig.mail.be(refused=0.3)
    rig.dispatchers(2, ready_for=DUE)
    rig.settle()

    found = rig.figures()
    tell("7", "the mail server answers 451 to 30 % of the tries", on, found)
    assert found.delivered == found.planned
    assert (found.lost, found.extra, found.unexpected, found.night) == (0, 0, 0, 0)
    tried_again = rig.count("followup_message", "attempts > 1")
    assert tried_again > found.planned / 10, "the sink did refuse"


@pytest.mark.parametrize("on", databases(SQLITE))
def test_an_address_that_is_refused_for_good_is_tried_once_then_the_other_way_or_a_person(stand, tell, on):
    rig = stand(on)
    both, one = sized(24, 200), sized(16, 100)
    rig.seed(f"messages({both})", f"messages({one}, by='email', first={both})")
    rig.mail.be(nobody=0.5)
    rig.dispatchers(2, ready_for=DUE)
    rig.settle()

    found = rig.figures()
    refused = rig.ask("SELECT attempts FROM followup_message WHERE state = 'failed'")
    tell("8", "the mail server answers 550 for half of the addresses", on, found,
         f"{len(refused)} refused, {len(rig.texts.lines)} of them went as a text")  # fmt: skip
    assert {attempts for (attempts,) in refused} == {1}
    assert (found.lost, found.extra, found.unexpected, found.night) == (0, 0, 0, 0)
    assert found.planned == both + one
    assert found.handed_over == len(refused) - len(rig.texts.lines) > 0
    assert rig.texts.lines
    assert found.p99 <= 120, "the next way within two minutes"


@pytest.mark.parametrize(("number", "by", "on"), [("9", "email", SQLITE), ("9b", "sms", POSTGRES)])
def test_what_is_taken_in_silence_goes_out_twice_at_most_then_a_person_looks(stand, tell, on, number, by):
    rig = stand(on)
    rig.seed(f"messages({sized(40, 400)}, by='{by}')")
    (rig.mail if by == "email" else rig.texts).be(silent=0.1)
    rig.dispatchers(2, ready_for=DUE)
    rig.settle()

    found = rig.figures()
    parked = rig.ask("SELECT id FROM followup_message WHERE state = 'parked'")
    tasks = {key for (key,) in rig.ask("SELECT key FROM followup_task")}
    what = "mail" if by == "email" else "text messages"
    tell(number, f"{what} to 10 % taken without a word", on, found, f"{len(parked)} parked, each a task")
    assert (found.lost, found.unexpected, found.night) == (0, 0, 0)
    assert found.most == 2
    assert found.extra == len(parked) > 0
    assert {f"undelivered:{pk}" for (pk,) in parked} <= tasks


@pytest.mark.parametrize(
    ("number", "hangs", "works", "on"), [("10", "mail", "sms", SQLITE), ("10b", "texts", "email", POSTGRES)]
)
def test_one_way_out_that_hangs_delays_no_other(stand, tell, number, hangs, works, on):
    rig = stand(on)
    many = sized(30, 300)
    other = "email" if works == "sms" else "sms"
    rig.seed(
        f"messages({many}, by='{works}', every={sized(10, 60) / many})", f"messages({many}, by='{other}', first={many})"
    )
    rig.freeze(hangs)  # the system takes the connection, nobody ever says a word
    rig.dispatchers(1, ready_for=DUE)
    rig.until(lambda: len((rig.texts if hangs == "mail" else rig.mail).lines) == many, f"{many} by the way that works")
    found = rig.figures()
    rig.thaw(hangs)
    rig.settle()

    whole = rig.figures()
    of_both = replace(whole, p50=found.p50, p99=found.p99)
    tell(number, f"the way of {other} hangs for {many} of {2 * many}", on, of_both, f"lateness of {works} alone")
    assert found.p99 <= TICK
    assert (found.extra, found.unexpected, found.night) == (0, 0, 0)
    assert (whole.lost, whole.unexpected, whole.delivered) == (0, 0, 2 * many)
