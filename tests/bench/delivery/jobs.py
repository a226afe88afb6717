"""procrastinate: a general-purpose job library on PostgreSQL, as its guide says, with its retry of stalled jobs.

`python -m tests.bench.delivery.jobs queue NUMBER`, then `… send SECONDS` in as many processes as there are to be;
SECONDS after its last heartbeat a worker counts as dead (the library's default is 30).
"""

from __future__ import annotations

import datetime as dt
import os
import sys

import procrastinate
from procrastinate.types import JSONDict

from tests.bench.delivery.mailing import hand_in

AHEAD = dt.timedelta(seconds=3)
"""From now to when they are due, as with the tasks of `eta`."""
DEAD_AFTER = float(sys.argv[2]) if sys.argv[1:2] == ["send"] else 30.0
"""Seconds."""

app = procrastinate.App(connector=procrastinate.PsycopgConnector(conninfo=os.environ["DATABASE_URL"]))


@app.task(name="send")
def send(number: int) -> None:
    """One message."""
    hand_in(number)


@app.periodic(cron="* * * * * */5")
@app.task(name="take_up", queueing_lock="take_up", pass_context=True)
async def take_up(context: procrastinate.JobContext, timestamp: int) -> None:
    """What dead workers held, once more: the library leaves that to a task of the program's own."""
    manager = context.app.job_manager
    for job in await manager.get_stalled_jobs(seconds_since_heartbeat=DEAD_AFTER):
        await manager.retry_job(job)


def queue(many: int) -> None:
    """Its tables, and so many jobs for one moment."""
    due = dt.datetime.now(dt.UTC) + AHEAD  # noqa: TID251 - its clock is the machine's
    with app.open():
        app.schema_manager.apply_schema()
        jobs: list[JSONDict] = [{"number": number} for number in range(many)]
        send.configure(schedule_at=due).batch_defer(*jobs)


def work() -> None:
    """Until it is killed."""
    with app.open():
        app.run_worker(
            update_heartbeat_interval=DEAD_AFTER / 3, stalled_worker_timeout=DEAD_AFTER, fetch_job_polling_interval=0.5
        )


if __name__ == "__main__":
    if sys.argv[1] == "queue":
        queue(int(sys.argv[2]))
    else:
        work()
