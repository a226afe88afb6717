"""The servers that everything stands on go away: rows 3 to 6, and all of them in one afternoon."""

from __future__ import annotations

import json
import time
import urllib.error
import urllib.request

import pytest
import redis as redis_client

from tests.faults.answering import Answer, with_a_telephone
from tests.faults.form import PACE, POSTGRES, sized
from tests.faults.rig import BEFORE, Rig
from tests.faults.seeds import DUE
from tests.sites.site import SERVICES

pytestmark = pytest.mark.faults

ALARM = 180
"""Seconds within which a watcher must hear that nothing is sent any more."""
TICK = 15.0


def healthy(rig: Rig) -> bool:
    """What a watcher outside is told."""
    try:
        with urllib.request.urlopen(f"{rig.address}/health", timeout=20) as answer:  # noqa: S310 - our own
            return bool(json.load(answer)["ok"])
    except (urllib.error.HTTPError, OSError):
        return False


def test_a_database_that_crashes_loses_nothing_that_it_had_promised(stand, tell, own_postgres):
    rig = stand(POSTGRES)
    crashes, many = sized(3, 5), sized(120, 1500)
    rig.seed(f"messages({many}, by='email')")
    rig.mail.be(takes=0.12)
    workers = rig.dispatchers(4, ready_for=DUE)

    recovered = []
    for crash in range(1, crashes + 1):
        rig.until(lambda crash=crash: len(rig.mail.lines) >= crash * many // (crashes + 2), "some mails")
        own_postgres.restart_at_once()
        before = len(rig.mail.lines)
        recovered.append(rig.until(lambda before=before: len(rig.mail.lines) > before, "a mail after the crash"))
    rig.settle()

    found = rig.figures()
    tell(
        "3",
        f"PostgreSQL crashes {crashes} times",
        POSTGRES,
        found,
        f"sends again {max(recovered):.1f} s after its start",
    )
    assert (found.lost, found.unexpected, found.night) == (0, 0, 0)
    assert found.extra <= crashes * len(workers)
    assert found.most <= 2
    assert max(recovered) <= 30


def test_while_the_database_is_away_no_answer_is_thanked_for_and_none_that_was_is_missing(stand, tell, own_postgres):
    rig = stand(POSTGRES, queue=True)
    telephone = with_a_telephone(rig, f"messages({sized(20, 100)}, by='email', every=2)")
    rig.start("web", WEB_CONCURRENCY="2")
    rig.start("dispatch")
    rig.until(telephone.answers, "the owner's page")
    sent = {answer: telephone.post(answer) for answer in (Answer(("bright",)) for _ in range(4))}
    rig.be_at(DUE)

    own_postgres.stop_at_once()
    before = len(rig.mail.lines)
    away = time.monotonic() + 300 / PACE
    during = [Answer(("quiet",)) for _ in range(5)]
    pages = [telephone.post(answer) for answer in during]
    time.sleep(max(0.0, away - time.monotonic()))
    own_postgres.start()
    resumed = rig.until(lambda: len(rig.mail.lines) > before, "a mail after the start")
    again = [telephone.post(answer) for answer in during]
    rig.settle()

    found = rig.figures()
    there = {row[0] for row in rig.ask("SELECT client_id FROM followup_reply")}
    thanked = {
        answer.session for answer, said in [*sent.items(), *zip(during, pages, strict=True)] if said.is_a_receipt
    }
    tell("4", f"PostgreSQL is away for {300 // PACE} s", POSTGRES, found,
         f"{len(pages)} answers refused with whom to phone, {len(thanked - there)} thanked for and missing, "
         f"sends again after {resumed:.1f} s")  # fmt: skip
    assert thanked <= there
    assert not any(page.is_a_receipt for page in pages)
    assert all("tel:" in page.page for page in pages)
    assert all(said.is_a_receipt for said in again)
    assert {answer.session for answer in during} <= there
    assert resumed <= 30
    assert (found.lost, found.extra, found.unexpected) == (0, 0, 0)


def test_a_queue_that_is_gone_emptied_restarted_or_full_costs_nothing(stand, tell, own_redis):
    rig = stand(POSTGRES, queue=True)
    many = sized(60, 300)
    telephone = with_a_telephone(rig, f"messages({many}, by='email', every={sized(30, 100) / many})")
    rig.start("web", WEB_CONCURRENCY="2")
    for name in SERVICES:
        rig.start(name)
    rig.until(telephone.answers, "the owner's page")
    rig.ticked()
    rig.be_at(DUE)

    said, step = [], many // 8
    faults = [
        own_redis.empty,
        *[own_redis.restart_at_once] * 5,
        lambda: fill(own_redis),
        lambda: own_redis.close(forget=False),
    ]
    for number, fault in enumerate(faults):
        rig.until(lambda number=number: len(rig.mail.lines) >= number * step, f"{number * step} mails")
        fault()
        said.append(telephone.post(Answer(("bright",))))
    rig.settle()
    own_redis.start()

    found = rig.figures()
    refused = sum(not each.is_a_receipt for each in said)
    tell(
        "5",
        "Redis emptied, killed five times, full, gone",
        POSTGRES,
        found,
        f"{refused} of {len(said)} answers refused",
    )
    assert (found.lost, found.unexpected, found.night, refused) == (0, 0, 0, 0)
    assert found.extra == 0
    assert found.p99 <= TICK


def fill(server) -> None:
    """No word more fits in."""
    with redis_client.Redis.from_url(server.url) as client:
        client.config_set("maxmemory", "1")
        client.config_set("maxmemory-policy", "noeviction")


def test_two_timetables_send_nothing_twice_and_a_frozen_one_is_told(stand, tell):
    rig = stand(POSTGRES, queue=True)
    many = sized(40, 200)
    telephone = with_a_telephone(rig, f"messages({many}, by='email', every=0.5)")
    rig.start("web", WEB_CONCURRENCY="1")
    for name in ("worker", "beat", "beat-2"):
        rig.start(name)
    rig.until(telephone.answers, "the owner's page")
    rig.ticked()
    rig.be_at(DUE)
    rig.until(lambda: healthy(rig), "a word that all is well")
    rig.until(lambda: len(rig.mail.lines) >= many // 6, "some mails")
    doubled = rig.figures().extra

    for name in ("beat", "beat-2"):
        rig.freeze(name)
    alarm = rig.until(lambda: not healthy(rig), "the alarm", patience=ALARM / PACE + 20)
    for name in ("beat", "beat-2"):
        rig.thaw(name)
    rig.until(lambda: healthy(rig), "a word that all is well again")
    for name in ("worker", "beat"):
        rig.kill_and_start(name)
    rig.settle()

    found = rig.figures()
    tell(
        "6", "two Beats, both frozen, then worker and Beat killed", POSTGRES, found, f"alarm after {alarm * PACE:.0f} s"
    )
    assert doubled == 0
    assert (found.lost, found.unexpected, found.night) == (0, 0, 0)
    assert found.extra <= found.kills
    assert alarm <= ALARM / PACE + TICK / PACE + 2


def test_everything_dies_in_one_afternoon_and_nothing_is_lost(stand, tell, own_postgres, own_redis):
    rig = stand(POSTGRES, queue=True)
    many = sized(120, 1000)
    rig.seed(f"messages({many}, by='email')")
    rig.mail.be(takes=0.1)
    rig.be_at(DUE - BEFORE)
    for name in SERVICES:
        rig.start(name)
    rig.ticked()
    rig.be_at(DUE)

    for share, step in (
        (0.1, lambda: rig.kill_and_start("worker")),
        (0.2, lambda: rig.kill_and_start("beat")),
        (0.3, lambda: rig.kill_and_start("dispatch")),
        (0.45, own_redis.restart_at_once),
        (0.6, own_postgres.restart_at_once),
        (0.7, lambda: [rig.kill_and_start(name) for name in SERVICES]),
    ):
        rig.until(lambda share=share: len(rig.mail.lines) >= share * many, f"{share:.0%} of the mails")
        step()
    rig.settle()

    found = rig.figures()
    tell("1-6", "worker, Beat, dispatcher, Redis, PostgreSQL, then all three killed", POSTGRES, found)
    assert (found.lost, found.unexpected, found.night) == (0, 0, 0)
    assert found.extra <= found.kills + 3
    assert found.most <= 2
