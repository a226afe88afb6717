"""Owners answer while things break: rows 11 (with the web), 19, 20 and 21."""

from __future__ import annotations

import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress

import pytest

from tests.faults.answering import VET, Answer, Screen, Telephone, kept, with_a_telephone
from tests.faults.form import POSTGRES, SQLITE, databases, sized
from tests.faults.rig import BEFORE
from tests.faults.seeds import DUE

pytestmark = pytest.mark.faults

WELL, UNWELL = ("bright",), ("quiet",)
EMERGENCY = Answer(("laboured",), question="breathing")
BREAK_EVERY_PROTOCOL = "UPDATE followup_protocolversion SET text = 'no protocol at all'"


@pytest.mark.parametrize("on", databases(SQLITE))
def test_an_answer_sent_ten_times_into_a_cut_line_counts_once_and_has_one_receipt(stand, tell, on):
    rig = stand(on, queue=True)
    telephone = with_a_telephone(rig)
    rig.start("web", WEB_CONCURRENCY="2")
    rig.until(telephone.answers, "the owner's page")
    answer = Answer(UNWELL)

    for _ in range(5):
        telephone.post_and_hang_up(answer)
    with ThreadPoolExecutor(5) as five:
        at_once = list(five.map(telephone.post, [answer] * 5))
    again = telephone.post(answer)

    rows = kept(rig, answer)
    receipts = {(said.status, said.to) for said in [*at_once, again]}
    tell("19", "one answer posted 11 times, 5 of them cut off", on, None, f"{len(rows)} reply, {len(receipts)} receipt")
    assert len(rows) == 1
    assert str(rows[0][0]).count(answer.entry) == 1
    assert len(receipts) == 1
    assert again.is_a_receipt


@pytest.mark.parametrize("on", databases(POSTGRES))
def test_four_dispatchers_and_four_web_processes_over_the_same_rows_do_nothing_twice(stand, tell, on):
    rig = stand(on, queue=True)
    telephone = with_a_telephone(rig, f"messages({sized(100, 1000)}, by='email')")
    rig.start("web", WEB_CONCURRENCY="4")
    rig.dispatchers(4, ready_for=DUE - BEFORE)
    rig.until(telephone.answers, "the owner's page")
    sent = [Answer(WELL) for _ in range(sized(10, 50))]
    rig.be_at(DUE)
    with ThreadPoolExecutor(8) as eight:
        said = list(eight.map(telephone.post, [answer for answer in sent for _ in range(4)]))
    rig.settle()

    found = rig.figures()
    twice = rig.count("followup_message", "attempts > 1 AND subject LIKE 'Number %'")
    tell("11", "4 dispatchers and 4 web processes at once", on, found, f"{twice} claimed twice")
    assert Counter(each.status for each in said) == {302: len(said)}, rig.processes.said()
    assert (twice, found.extra, found.lost, found.unexpected) == (0, 0, 0, 0)
    assert [len(kept(rig, answer)) for answer in sent] == [1] * len(sent)


@pytest.mark.parametrize("on", databases(SQLITE))
def test_an_answer_is_weighed_within_a_minute_though_the_process_died_between_keeping_and_weighing_it(stand, tell, on):
    rig = stand(on)
    telephone = with_a_telephone(rig)
    rig.start("serve", ["python", "-m", "tests.faults.failing", "dies_before_triage", *rig.serving])
    rig.until(telephone.answers, "the owner's page")
    with suppress(OSError):
        telephone.post(EMERGENCY)
    rig.until(lambda: rig.processes.running["serve"].poll() is not None, "the end of the process")
    begun = time.monotonic()
    assert [state for _, state in kept(rig, EMERGENCY)] == ["stored"]

    rig.start("serve", ["python", "manage.py", *rig.serving])
    rig.until(telephone.answers, "the owner's page")
    shown = Screen(rig).page(f"/plans/{telephone.plan}/")
    rig.until(lambda: [state for _, state in kept(rig, EMERGENCY)] == ["understood"], "its weighing", patience=120)
    took = time.monotonic() - begun
    rig.until(lambda: rig.count("followup_flag", "state = 'open' AND level = 3"), "a flag")
    rig.until(lambda: any(line.to == VET for line in rig.mail.lines), "an alert")

    tell("20", "the process dies between keeping an answer and weighing it", on, None, f"weighed after {took:.0f} s")
    assert took <= 60
    assert "not weighed yet" in shown


@pytest.mark.parametrize("on", databases(SQLITE))
@pytest.mark.parametrize(
    ("number", "broken"), [("21", "triage raises"), ("21b", "every protocol in the database is broken")]
)
def test_where_nothing_can_be_weighed_every_answer_calls_a_person(stand, tell, on, number, broken):
    rig = stand(on)
    links = rig.seed(f"homes({sized(4, 20)})")
    rig.be_at(DUE)
    if number == "21b":
        rig.change(BREAK_EVERY_PROTOCOL)
        rig.start("serve", ["python", "manage.py", *rig.serving])
    else:
        rig.start("serve", ["python", "-m", "tests.faults.failing", "triage_raises", *rig.serving])
    telephones = [Telephone(rig, link) for link in links]
    rig.until(telephones[0].answers, "the owner's page")

    said = [telephone.post(Answer(("laboured",), question="breathing")) for telephone in telephones]
    flagged = {plan for (plan,) in rig.ask("SELECT plan_id FROM followup_flag WHERE state = 'open'")}

    tell(number, broken, on, None, f"{len(links)} answers, {len(flagged)} patients flagged for a person")
    assert all(each.is_a_receipt for each in said)
    assert flagged == {link["plan"] for link in links}
