"""Time is not what it seems: a clock that is set, two days without sending, a backup put back: rows 13, 16 and 17."""

from __future__ import annotations

import datetime as dt
import shutil
import time
from collections import Counter

import pytest

from followup.domain.catching_up import BETWEEN_TWO, MOST_A_MINUTE
from tests.faults.form import POSTGRES, SQLITE, also, databases, sized
from tests.faults.pulse import watched
from tests.faults.rig import BEFORE, Rig
from tests.faults.seeds import DUE
from tests.sites.clock import set_offset
from tests.world import at

pytestmark = pytest.mark.faults

HOUR, DAY = 3600, 86_400
STEPS = (-HOUR, 6 * HOUR, 40 * DAY, 0)
"""Seconds by which the machine's clock is off, one after another, while everything runs."""
MACHINE = dt.timedelta(days=2)


@pytest.fixture
def clock(fake_time, tmp_path):
    """A file that says how far off a process's clock is, and the environment of a process that believes it."""
    file = tmp_path / "clock"
    set_clock(file, 0)
    return file, fake_time.environment(file)


def set_clock(file, seconds: int) -> None:
    """Step the clock of the processes that believe this file."""
    new = file.with_suffix(".new")
    new.write_text(f"{seconds:+d}")
    new.replace(file)


@pytest.mark.faketime
@pytest.mark.parametrize(("on", "how"), [*also((SQLITE, "dispatch")), (SQLITE, "serve"), (POSTGRES, "dispatch")])
def test_a_clock_that_is_set_while_everything_runs_costs_nothing(stand, tell, clock, on, how):
    file, believes = clock
    rig = stand(on)
    many, lasts = sized(40, 300), sized(20, 120)
    rig.seed(f"messages({many}, by='email', every={lasts / many})")
    rig.be_at(DUE - BEFORE)
    if how == "serve":
        rig.serve(**believes)
    else:
        rig.dispatchers(2, **believes)
    rig.ticked()
    rig.be_at(DUE)

    with watched(rig) as pulse:
        for number, seconds in enumerate(STEPS, start=1):
            rig.until(lambda number=number: len(rig.mail.lines) >= number * many // 6, "mails before the clock is set")
            set_clock(file, seconds)
        rig.settle()

    found = rig.figures()
    tell("13" if how == "dispatch" else "13b", f"clock −1 h, +6 h, +40 days, and back, under {how}", on, found,
         f"longest time without a tick {pulse.longest:.1f} s")  # fmt: skip
    assert (found.delivered, found.lost) == (found.planned, 0)
    assert (found.extra, found.unexpected, found.night) == (0, 0, 0)
    assert pulse.longest <= 2 * (5 if how == "dispatch" else 15)


@pytest.mark.faketime
@pytest.mark.parametrize(("number", "back"), [("16", at("17:00", day=2)), *also(("16b", at("02:00", day=3)))])
def test_after_two_days_without_sending_nobody_is_flooded_and_nothing_is_forgotten(stand, tell, clock, number, back):
    file, believes = clock
    rig = stand(SQLITE)
    people = sized(30, 1000 if number == "16" else 100)
    patients = len(rig.seed(f"messages({people}, by='email', hours=96, each=2)", f"homes({sized(10, 60)})"))
    away = dt.timedelta(hours=48)
    down = back - away
    rig.be_at(down)
    rig.start("dispatch-1", **believes)
    rig.ticked()
    rig.until(lambda: not rig.count("followup_message", waiting(down)), "an end to what is due")
    rig.kill("dispatch-1")
    before = len(rig.lines)

    set_clock(file, int(away.total_seconds()))
    rig.ahead += away  # to its machine two days have gone by, and to ours none
    rig.start("dispatch-1", **believes)
    rig.until(lambda: rig.count("followup_gap", "kind = 'stopped'"), "the gap")
    if number == "16b":
        rig.ticked()
        assert len(rig.lines) == before, "they sleep"
        be_at(rig, back + dt.timedelta(hours=6), machine_ahead=away)
    rig.until(lambda: len(set(piled_up(rig))) == people, "a message to each", patience=sized(240, 900))
    went, first_turn = rig.lines[before:], piled_up(rig)
    be_at(rig, rig.now() + BETWEEN_TWO + dt.timedelta(minutes=1), machine_ahead=away)
    rig.settle()

    found, peak = rig.figures(), busiest_minute([line.at for line in went])
    calls = Counter(plan for (plan,) in rig.ask("SELECT plan_id FROM followup_task WHERE key LIKE 'gap:%:%'"))
    tell(number, f"48 h without sending, {2 * people} messages and {patients} patients overdue", SQLITE, found,
         f"at most {peak} messages a minute, one to each in half an hour, {len(calls)} calls")  # fmt: skip
    assert (found.lost, found.extra, found.unexpected, found.night) == (0, 0, 0, 0)
    assert peak <= MOST_A_MINUTE
    assert len(first_turn) == people, "one to each in half an hour; advice and first messages wait for nobody"
    assert len(calls) == patients
    assert set(calls.values()) == {1}, "one call for each patient"


def be_at(rig: Rig, when: dt.datetime, *, machine_ahead: dt.timedelta) -> None:
    """It is `when` for a program whose machine believes to be so far ahead of ours."""
    rig.be_at(when)
    set_offset(rig.database_url, rig.ahead - machine_ahead)


def piled_up(rig: Rig) -> list[str]:
    """To whom messages that had piled up have gone."""
    return [line.to for line in rig.mail.lines if line.to.startswith("due")]


def busiest_minute(times: list[float]) -> int:
    """The most that went in any sixty seconds."""
    return max((sum(since <= each < since + 60 for each in times) for since in times), default=0)


@pytest.mark.parametrize("on", databases(SQLITE))
def test_a_backup_of_six_hours_ago_sends_nothing_again_by_itself(stand, tell, on, request):
    rig = stand(on)
    many = sized(30, 200)
    rig.seed(f"messages({many}, by='email', every={6 * HOUR / many}, hours=20)")
    rig.be_at(at("12:00"))
    rig.start("dispatch-1")
    rig.ticked()
    rig.kill("dispatch-1")
    keep = Keeping(rig, request)
    keep.back_up()
    rig.be_at(at("21:00"))  # half of them are due by now
    rig.start("dispatch-1")
    rig.until(lambda: not rig.count("followup_message", waiting(at("21:00"))), "an end to what is due")
    went = len(rig.mail.lines)
    rig.kill("dispatch-1")

    keep.put_back()
    rig.be_at(at("21:02"))
    rig.start("dispatch-1")
    rig.until(lambda: rig.count("followup_gap", "kind = 'restored'"), "a word that a backup was put back")
    time.sleep(5)
    held = rig.figures()

    tell("17", "a backup of hours ago is put back", on, held, f"{went} had gone meanwhile, each is a line of a call")
    assert went >= many // 3
    assert (held.extra, held.unexpected, held.lost, held.night) == (0, 0, 0, 0)
    assert len(rig.mail.lines) == went, "owners are sent nothing until a person has looked"
    parked = "state = 'parked' AND due_at <= '{}'".format(at("21:00").strftime("%Y-%m-%d %H:%M:%S"))
    assert rig.count("followup_message", parked) >= went


def waiting(until: dt.datetime) -> str:
    """Of those due by then."""
    return f"state IN ('ready', 'leased') AND audience = 'owner' AND not_before <= '{until:%Y-%m-%d %H:%M:%S}'"


class Keeping:
    """A copy of a trial's database, made and put back while no process runs."""

    def __init__(self, rig: Rig, request: pytest.FixtureRequest) -> None:
        """Of SQLite its files; of PostgreSQL a second database."""
        self.rig, self.folder = rig, rig.folder / "backup"
        self.server = None if rig.database_url.startswith("sqlite") else request.getfixturevalue("own_postgres")

    def back_up(self) -> None:
        """As it is now."""
        if self.server is not None:
            self.server.copy("trial", "kept")
            return
        self.folder.mkdir()
        for file in self.rig.folder.glob("followup.sqlite3*"):
            shutil.copy(file, self.folder)

    def put_back(self) -> None:
        """What has come since is gone."""
        if self.server is not None:
            self.server.copy("kept", "trial")
            return
        for file in self.rig.folder.glob("followup.sqlite3*"):
            file.unlink()
        for file in self.folder.iterdir():
            shutil.copy(file, self.rig.folder)
