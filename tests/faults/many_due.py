"""Messages that are due all at once, made inside a site's own process."""

from __future__ import annotations

import datetime as dt

from followup.domain.wording import Text
from followup.models import Message
from followup.services.links import recipient_for
from followup.services.outbox import queue_to_owner
from tests import world
from tests.world import at

MANY = 200
SETTING_UP = "from tests.faults.many_due import queue; queue()"
STATES = "from tests.faults.many_due import states; states()"
DUE = at("17:30")


def queue() -> None:
    """One message to each of so many people, due at half past five and worth sending for two hours."""
    plan = world.running_plan()
    Message.objects.all().delete()  # only those that are counted
    plan.check_ins.all().delete()
    plan.doses.all().delete()
    for number in range(MANY):
        person = world.owner(plan.practice, email=f"due{number}@example.org")
        made = queue_to_owner(
            plan,
            recipient_for(plan.practice, person, now=DUE),
            purpose=Message.Purpose.WELCOME,
            key=f"due {number}",
            text=Text(f"Number {number}", "On the way home. {link}"),
            now=DUE,
            expires_at=DUE + dt.timedelta(hours=2),
        )
        assert made is not None


def states() -> None:
    """Print what became of them."""
    print(sorted(Message.objects.values_list("state", flat=True)))  # noqa: T201 - read by the test
