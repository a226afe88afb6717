"""Owners answer while thousands of messages are due: how long each answer's POST takes, and how long the sending."""

from __future__ import annotations

import json
import time
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from tests.bench.delivery.ground import SQLITE, Ground
from tests.bench.delivery.sittings import turns
from tests.bench.delivery.sizes import DUE_MEANWHILE, REPLIES_A_SECOND, REPLIES_DISPATCHERS, REPLIES_FOR
from tests.bench.delivery.speed import arrived
from tests.bench.delivery.ways import seed
from tests.bench.measuring import Measured
from tests.faults.answering import Answer, Telephone
from tests.faults.rig import Rig
from tests.real.finding import until

POSTS = REPLIES_A_SECOND * REPLIES_FOR
AT_ONCE = 100
"""Telephones that may wait for an answer at one time: more than will, so that none is late to begin."""
PATIENCE = 300.0
"""Seconds until all that was due has been sent."""


@dataclass(frozen=True)
class Answered:
    """`posts`: milliseconds from when an answer was to be posted to its page. `drained`: seconds for all messages."""

    posts: Measured
    refused: int
    finished: int
    drained: float


def answered(ground: Ground, on: str) -> Answered:
    """The web server as it is deployed, two dispatchers, and owners who go through their check-ins."""
    from tests.owner_world import EVENING  # noqa: PLC0415 - reads models, which need Django set up

    with ground.ours(on) as rig:
        rig.mail.be(synced=False)
        world = json.loads(seed(rig, f"at_home({POSTS}, meanwhile={DUE_MEANWHILE})"))
        rig.be_at(EVENING)
        _start_web(rig, on, ground)
        begun = time.monotonic()
        for name in range(REPLIES_DISPATCHERS):
            rig.start(f"dispatch-{name}", ["python", "manage.py", "dispatch"], TRIAL_PACE="1")
        until(lambda: arrived(rig) > 0, what="the first message")
        posts = _posted(rig, world)
        until(lambda: arrived(rig) >= DUE_MEANWHILE, what="all messages", patience=PATIENCE)
        drained = time.monotonic() - begun
        finished = rig.count("followup_reply", "state = 'understood'")
    return Answered(
        posts=Measured(tuple(took for took, _ in posts)),
        refused=sum(not kept for _, kept in posts),
        finished=finished,
        drained=drained,
    )


def _start_web(rig: Rig, on: str, ground: Ground) -> None:
    """gunicorn and Redis as the Compose file has them on PostgreSQL; on SQLite one process that serves and sends."""
    if on == SQLITE:
        rig.serve(TRIAL_PACE="1", TICK_SECONDS="15")
    else:
        rig.start("web", TRIAL_PACE="1", WEB_CONCURRENCY="2", REDIS_URL=ground.redis.url)
    until(lambda: Telephone(rig, {"home": "/", "plan": 0}).get("/health").page, what="the web server")


def _posted(rig: Rig, world: dict[str, Any]) -> list[tuple[float, bool]]:
    """Post so many answers a second, each at its time, whether or not earlier ones have come back."""
    sessions: dict[int, str] = defaultdict(lambda: uuid4().hex)
    steps = world["answers"]
    with ThreadPoolExecutor(AT_ONCE) as telephones:
        begins = time.monotonic() + 1
        posts = []
        for number, (owner, step) in enumerate(turns(POSTS, len(steps))):
            home, plan = world["homes"][owner]
            question, values = steps[step]
            answer = Answer(tuple(values), question, session=sessions[owner])
            at = begins + number / REPLIES_A_SECOND
            time.sleep(max(0.0, at - time.monotonic()))
            posts.append(telephones.submit(_post, Telephone(rig, {"home": home, "plan": plan}), answer, at))
        return [each.result() for each in posts]


def _post(telephone: Telephone, answer: Answer, at: float) -> tuple[float, bool]:
    """Milliseconds since it was to be posted, and whether the owner may believe that it is kept."""
    try:
        kept = telephone.post(answer).is_a_receipt
    except OSError:
        kept = False
    return (time.monotonic() - at) * 1000, kept
