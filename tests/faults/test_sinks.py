"""The sinks behave as ordered, and write down what they take before they say so: else no figure could be believed."""

from __future__ import annotations

import http.client
import json
import smtplib

import pytest

from tests.faults.rig import Sink
from tests.faults.sinks.orders import MOST_IN_A_ROW, Orders, Refusals, picked
from tests.real.finding import until
from tests.sites.processes import Processes

ADDRESSES = [f"due{number}@example.org" for number in range(1000)]


@pytest.fixture
def processes(tmp_path):
    running = Processes(tmp_path, {})
    yield running
    for name in list(running.running):
        running.kill(name)


def started(processes, name, tmp_path) -> Sink:
    sink = Sink(name, tmp_path)
    sink.be()
    processes.start(name, sink.command)
    until(sink.listens, what=name)
    return sink


def mail_to(sink, *addresses) -> list[int]:
    """The last answer to a mail to each; 0: none came."""
    return [_answer(sink, address) for address in addresses]


def _answer(sink, address) -> int:
    with smtplib.SMTP("127.0.0.1", sink.port, timeout=1) as line:
        line.helo()
        line.mail("desk@example.org")
        code, _ = line.rcpt(address)
        if code != 250:
            return code
        try:
            return line.data(f"Message-ID: <{address}>\nSubject: to {address}\n\nHow is he?")[0]
        except smtplib.SMTPServerDisconnected:
            return 0


def test_a_mail_that_is_taken_is_written_down_with_its_id(processes, tmp_path):
    mail = started(processes, "mail", tmp_path)

    assert mail_to(mail, "due1@example.org") == [250]
    [line] = mail.lines
    assert (line.channel, line.key, line.to) == ("email", "<due1@example.org>", "due1@example.org")


def test_a_mail_server_refuses_for_now_for_ever_or_by_saying_nothing(processes, tmp_path):
    mail = started(processes, "mail", tmp_path)

    mail.be(refused=1.0)
    assert mail_to(mail, *["due1@example.org"] * (MOST_IN_A_ROW + 1)) == [451, 451, 451, 250]
    mail.be(nobody=1.0)
    assert mail_to(mail, "due2@example.org") == [550]
    mail.be(silent=1.0)
    assert mail_to(mail, "due3@example.org") == [0]

    assert [line.to for line in mail.lines] == ["due1@example.org", "due3@example.org"], (
        "silence comes after it is taken"
    )


def test_a_gateway_takes_a_message_or_does_not_and_answers_as_it_is_told(processes, tmp_path):
    texts = started(processes, "texts", tmp_path)
    answers = []

    for orders in ({}, {"status": 500}, {"says": '{"error": "no credit"}'}):
        texts.be(**orders)
        line = http.client.HTTPConnection("127.0.0.1", texts.port, timeout=5)
        line.request("POST", "/send", json.dumps({"to": "+447700900001", "text": "Hello", "id": f"<{orders}>"}))
        got = line.getresponse()
        answers.append((got.status, got.read().decode()))
        line.close()

    assert answers == [(200, "{}"), (500, "{}"), (200, '{"error": "no credit"}')]
    assert [line.key for line in texts.lines] == ["<{}>", "<{'says': '{\"error\": \"no credit\"}'}>"]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 1.0])
def test_a_share_is_that_share_and_always_the_same_ones(share):
    chosen = [address for address in ADDRESSES if picked(address, share, salt="silent")]

    assert abs(len(chosen) - share * len(ADDRESSES)) <= 40
    assert chosen == [address for address in ADDRESSES if picked(address, share, salt="silent")]


def test_no_message_is_refused_for_ever():
    refusals = Refusals()

    assert [refusals.refuses("one", 1.0) for _ in range(5)] == [True, True, True, False, False]


def test_orders_come_back_from_their_file_as_they_were_written(tmp_path):
    given = Orders(takes=0.5, refused=0.3, status=503, says="busy")

    given.write(tmp_path / "orders")

    assert Orders.read(tmp_path / "orders") == given
