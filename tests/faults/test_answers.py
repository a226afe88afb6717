"""Owners answer while things break: rows 11 (with the web) and 19."""

from __future__ import annotations

import datetime as dt
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.faults.answering import Answer, Telephone
from tests.faults.conftest import POSTGRES, SQLITE
from tests.faults.form import sized
from tests.faults.rig import Rig
from tests.faults.seeds import DUE

pytestmark = pytest.mark.faults

WELL, UNWELL = ("bright",), ("quiet",)


def answers(telephone: Telephone) -> bool:
    """Whether pages come."""
    try:
        return telephone.get(telephone.home).status == 200
    except OSError:
        return False


def with_a_telephone(rig: Rig, *seeds: str) -> Telephone:
    """One patient at home, at half past five, and his owner's telephone; beside him what else is seeded."""
    telephone = Telephone(rig, rig.seed(*seeds, "home()"))
    rig.be_at(DUE)
    return telephone


def kept(rig: Rig, answer: Answer) -> list[tuple[str, ...]]:
    """The replies under this answer's session, as they are stored."""
    return rig.ask(f"SELECT raw, state FROM followup_reply WHERE client_id = '{answer.session}'")  # noqa: S608 - our id


@pytest.mark.parametrize("on", [SQLITE, POSTGRES])
def test_an_answer_sent_ten_times_into_a_cut_line_counts_once_and_has_one_receipt(stand, tell, on):
    rig = stand(on, queue=True)
    telephone = with_a_telephone(rig)
    rig.start("web", WEB_CONCURRENCY="2")
    rig.until(lambda: answers(telephone), "the owner's page")
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


@pytest.mark.parametrize("on", [SQLITE, POSTGRES])
def test_four_dispatchers_and_four_web_processes_over_the_same_rows_do_nothing_twice(stand, tell, on):
    rig = stand(on, queue=True)
    telephone = with_a_telephone(rig, f"messages({sized(100, 1000)}, by='email')")
    rig.be_at(DUE - dt.timedelta(minutes=5))  # everybody is up and waits before anything is due
    rig.start("web", WEB_CONCURRENCY="4")
    rig.dispatchers(4)
    rig.until(lambda: answers(telephone), "the owner's page")
    time.sleep(3)
    sent = [Answer(WELL) for _ in range(sized(10, 50))]
    rig.be_at(DUE)
    with ThreadPoolExecutor(8) as eight:
        said = list(eight.map(telephone.post, [answer for answer in sent for _ in range(4)]))
    rig.settle(patience=120)

    found = rig.figures()
    twice = rig.count("followup_message", "attempts > 1 AND subject LIKE 'Number %'")
    tell("11", "4 dispatchers and 4 web processes at once", on, found, f"{twice} claimed twice")
    assert Counter(each.status for each in said) == {302: len(said)}, rig.processes.said()
    assert (twice, found.extra, found.lost, found.unexpected) == (0, 0, 0, 0)
    assert [len(kept(rig, answer)) for answer in sent] == [1] * len(sent)
