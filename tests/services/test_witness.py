"""The witness itself: of another database, unreadable, or nowhere to be written."""

from __future__ import annotations

import json
import uuid

import pytest

from clinic.services.witness import FILE, Witness, read_witness
from followup.models import Gap, Installation, Message, Plan
from followup.services.tick import tick
from tests import world
from tests.services.outages import MINUTE, witnessed
from tests.services.post import Post, message, nothing_waits, state
from tests.world import at

RESTORED = Gap.Kind.RESTORED
MADE, BROKE = at("17:00"), at("23:00")
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def plan() -> Plan:
    """Pip's, with a first tick at 17:00."""
    made = world.running_plan()
    nothing_waits(made)
    tick(now=MADE, choose=Post())
    return made


def test_another_database_takes_the_witness_over(plan):
    witnessed(ticks=1000, last=BROKE, epoch=uuid.uuid4())

    tick(now=BROKE + MINUTE, choose=Post())

    assert not Gap.objects.filter(kind=RESTORED).exists()
    assert read_witness() == Witness(Installation.objects.this().epoch, 2, BROKE + MINUTE)


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "null", '{"installation": 3}', '{"installation": "x", "ticks": 1, "last_tick": "2025"}', "\xff"],
)
def test_a_witness_that_cannot_be_read_is_said_and_written_anew(plan, settings, caplog, text):
    (settings.DATA_DIR / FILE).write_bytes(text.encode("latin-1"))

    for minutes in (1, 2):
        tick(now=BROKE + minutes * MINUTE, choose=Post())

    assert not Gap.objects.filter(kind=RESTORED).exists()
    assert len([line for line in caplog.records if "cannot be read" in line.getMessage()]) == 1
    assert json.loads((settings.DATA_DIR / FILE).read_text())["ticks"] == Installation.objects.this().ticks == 3
    assert [path.name for path in settings.DATA_DIR.iterdir()] == [FILE], "nothing unfinished is left"


def test_a_folder_that_is_not_there_stops_no_tick(plan, settings, caplog):
    settings.DATA_DIR = settings.DATA_DIR / "gone"
    row = message(plan, to=plan.practice.recipients.get(), now=MADE, expires_at=BROKE)

    for minutes in (1, 2):
        tick(now=MADE + minutes * MINUTE, choose=Post())

    assert state(row) == Message.State.SENT
    assert len([line for line in caplog.records if "cannot be written" in line.getMessage()]) == 1
