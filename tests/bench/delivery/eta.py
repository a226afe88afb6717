"""Plain Celery: a task with a time of its own for each message, on Redis, acknowledged as Celery does by default.

`python -m tests.bench.delivery.eta NUMBER` queues them; `celery -A tests.bench.delivery.eta worker` sends them.
"""

from __future__ import annotations

import datetime as dt
import os
import sys

from celery import Celery

from tests.bench.delivery.mailing import hand_in

BROKER = os.environ.get("REDIS_URL", "")
AHEAD = dt.timedelta(seconds=3)
"""From now to when they are due: the worker has them all by then, as it does with tasks for a later hour."""

app = Celery("eta", broker=BROKER)
app.conf.update(
    task_ignore_result=True,
    broker_connection_retry_on_startup=True,
    broker_transport_options={"visibility_timeout": int(os.environ.get("VISIBILITY_TIMEOUT", "3600"))},
)


@app.task
def send(number: int) -> None:
    """One message."""
    hand_in(number)


def queue(many: int) -> None:
    """So many tasks for one moment."""
    due = dt.datetime.now(dt.UTC) + AHEAD  # noqa: TID251 - Celery's own clock is the machine's
    for number in range(many):
        send.apply_async((number,), eta=due)


if __name__ == "__main__":
    # By its name, so that the tasks are those that a worker knows: this file is `__main__` here.
    from tests.bench.delivery import eta  # noqa: PLW0406

    eta.queue(int(sys.argv[1]))
