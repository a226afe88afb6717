"""Two days without sending, over each change of the clocks: nobody is woken or flooded, and nothing is forgotten."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from followup.domain.catching_up import BETWEEN_TWO, MOST_A_MINUTE
from followup.messaging.channel import Letter, Sent
from followup.models import Gap, Message, Recipient
from followup.services.gaps import end
from followup.services.links import recipient_for
from followup.services.tick import tick
from tests import world
from tests.services.outages import HOUR, MINUTE, SECOND
from tests.services.post import Post, message, nothing_waits
from tests.world import LONDON

PEOPLE = 100
BEFORE = world.at("00:00")
TWICE = 2
ZONES = ("Europe/London", "Europe/Berlin", "Europe/Athens", "America/New_York")

pytestmark = pytest.mark.django_db


@dataclass
class Log(Post):
    """What went when, and to whom."""

    now: dt.datetime = BEFORE
    went: list[tuple[dt.datetime, str]] = field(default_factory=list)

    def send(self, letter: Letter) -> Sent:
        self.went.append((self.now, letter.to))
        return super().send(letter)


def moments(back: dt.datetime) -> list[dt.datetime]:
    """Ticks for fourteen hours: ten minutes apart, and 15 s when people wake and half an hour later."""
    found = {back + number * 10 * MINUTE for number in range(14 * 6)}
    for zone in map(ZoneInfo, ZONES):
        wakes = dt.datetime.combine(back.astimezone(zone).date(), dt.time(7), zone).astimezone(dt.UTC)
        found |= {wakes + number * 15 * SECOND for number in (-1, 0, 1, 2, 119, 120, 121)}
    return sorted(each for each in found if each >= back)


@pytest.mark.parametrize("changes", [dt.date(2025, 3, 30), dt.date(2025, 10, 26)])
def test_over_a_change_of_the_clocks(changes, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    friday, back = changes - dt.timedelta(days=2), dt.datetime.combine(changes, dt.time(3, 30), LONDON)
    down = back.astimezone(dt.UTC) - 48 * HOUR
    plan = world.running_plan(day=friday, now=down - HOUR)
    nothing_waits(plan)
    tick(now=down - MINUTE, choose=Post())
    end(now=down)
    zones = {}
    for number in range(PEOPLE):
        somebody = world.owner(plan.practice, time_zone=ZONES[number % len(ZONES)])
        zones[str(somebody.email)] = ZoneInfo(somebody.time_zone)
        to = recipient_for(plan.practice, somebody, part=Recipient.Part.CARER, now=down)
        for one in range(TWICE):
            lasts: dict[str, Any] = {
                "key": f"{number}-{one}",
                "purpose": Message.Purpose.NEWS,
                "expires_at": down + 96 * HOUR,
            }
            message(plan, to=to, now=down + HOUR, **lasts)
    post = Log()

    for post.now in moments(back.astimezone(dt.UTC)):
        tick(now=post.now, choose=post)

    went = {address: [at for at, to in post.went if to == address] for address in zones}
    assert {len(times) for times in went.values()} == {TWICE}
    assert all(7 <= at.astimezone(zones[to]).hour < 22 for at, to in post.went if to in zones)
    assert all(later - earlier >= BETWEEN_TWO for times in went.values() for earlier, later in pairwise(times))
    assert most_in_a_minute(post) <= MOST_A_MINUTE
    gap = Gap.objects.get(kind=Gap.Kind.STOPPED)
    assert (gap.ended_at - gap.began_at, gap.caught_up_at is not None) == (48 * HOUR, True)
    calls = plan.tasks.filter(text__contains="sending was down")
    assert calls.count() == 1, "one for the patient, whatever was not asked"
    assert calls.get().text.count("the check-in of") == plan.check_ins.filter(could_not_be_asked=True).count() >= 3


def most_in_a_minute(post: Log) -> int:
    times = Counter(at for at, _ in post.went)
    return max(sum(number for at, number in times.items() if since <= at < since + MINUTE) for since in times)
