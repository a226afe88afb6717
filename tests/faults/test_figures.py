"""The figures are what the sinks saw, not what the program says of itself."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from tests.faults.figures import Promise, figures
from tests.faults.sinks.witness import Line, Log, copies, lines_in

LONDON = ZoneInfo("Europe/London")
DUE = dt.datetime(2025, 3, 10, 17, 30, tzinfo=dt.UTC)
MACHINE = dt.datetime(2031, 6, 1, 3, 0, tzinfo=dt.UTC)
AHEAD = DUE - MACHINE


def promised(name: str, *, chain: str = "", state: str = "sent", channel: str = "email", task: bool = False) -> Promise:
    return Promise(chain or name, f"<{name}>", channel, DUE, state, task)


def came(name: str, *, late: float = 0.0, channel: str = "email") -> Line:
    return Line(MACHINE.timestamp() + late, channel, f"<{name}>", f"{name} address", "")


def found(promises, lines):
    return figures(promises, lines, ahead=AHEAD, zone=LONDON)


def test_what_the_program_calls_sent_and_no_sink_saw_is_lost():
    came_to = found([promised("one"), promised("two")], [came("one")])

    assert (came_to.planned, came_to.delivered, came_to.lost) == (2, 1, 1)


def test_what_ended_with_a_task_is_not_lost_and_what_was_overtaken_was_not_planned():
    came_to = found([promised("one", state="expired", task=True), promised("two", state="superseded")], [])

    assert (came_to.planned, came_to.dropped, came_to.handed_over, came_to.lost) == (1, 1, 1, 0)


def test_one_of_a_chain_is_enough_by_whatever_way_it_came():
    chain = [promised("one", state="failed"), promised("other", chain="one", channel="sms")]

    came_to = found(chain, [came("other", channel="sms")])

    assert (came_to.planned, came_to.delivered, came_to.lost, came_to.unexpected) == (1, 1, 0, 0)


def test_copies_are_counted_and_what_nobody_promised_is_told():
    came_to = found([promised("one")], [came("one"), came("one"), came("one"), came("stranger")])

    assert (came_to.extra, came_to.most, came_to.unexpected) == (2, 3, 1)


def test_lateness_is_of_the_first_copy_in_the_time_of_the_program():
    names = [f"n{number}" for number in range(1, 101)]

    came_to = found([promised(name) for name in names], [came(name, late=float(name[1:])) for name in names])

    assert (came_to.p50, came_to.p99) == (50.0, 99.0)


def test_a_message_after_ten_in_the_evening_of_the_owner_is_a_night_send():
    evening = dt.timedelta(hours=4, minutes=30).total_seconds()  # 22:00 on London's clock

    came_to = found([promised("one"), promised("two")], [came("one", late=evening - 1), came("two", late=evening)])

    assert came_to.night == 1


def test_a_witness_keeps_each_line_as_it_was_written(tmp_path):
    log = Log(tmp_path / "log")
    for _ in range(2):
        log.accept(channel="sms", key="k", to="+447700900000", text="two\nlines")

    first, second = lines_in(tmp_path / "log")
    assert (first.channel, first.key, first.to, first.text) == ("sms", "k", "+447700900000", "two\nlines")
    assert first.at <= second.at
    assert copies([first, second]) == {"k": 2}
