"""What an owner, or staff on the phone, tells us: stored as it came, first and always; then understood."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from django.db import transaction

from clinic.models import Practice, Staff
from followup.domain.terms import FollowUpError, Level
from followup.domain.why_silent import WHY_SILENT
from followup.models import CheckIn, Heartbeat, Plan, Recipient, Reply
from followup.services.advice import Advice, advice_for
from followup.services.check_in_page import next_key
from followup.services.log import log
from followup.services.raw_answers import answered_in, entries_of, words_in
from followup.services.red import is_red
from followup.services.understanding import Understood, understand

LEFT_UNFINISHED = dt.timedelta(minutes=10)
"""A check-in that nobody goes on with for so long is taken as it is: half an answer is an answer."""
LEFT_BY_US = dt.timedelta(seconds=30)
"""What should have been acted on at once and was not, so long after: the process that took it has died (ours)."""


@dataclass(frozen=True)
class Incoming:
    """What came in. `client_id` is made where it was written: the same one counts once."""

    client_id: str
    raw: Mapping[str, object] = field(default_factory=dict)
    text: str = ""
    check_in: CheckIn | None = None


LONGEST_ID = 64
"""Characters of a client's id: our pages make 32."""


def id_from(page: str) -> str:
    """The id that a page of ours made for what it sends; a new one where there is none, or something else."""
    return page if 0 < len(page) <= LONGEST_ID else uuid.uuid4().hex


@dataclass(frozen=True)
class Taken:
    """What became of it. `advice` is None only when it belongs to no running follow-up."""

    understood: Understood
    advice: Advice | None

    @property
    def reply(self) -> Reply:
        """The reply as it is kept."""
        return self.understood.reply


def take_reply(plan: Plan, incoming: Incoming, *, author: Recipient | Staff, now: dt.datetime) -> Taken:
    """Answers given together, a dose, a weight or words, by an owner or by staff on the phone."""
    reply, new = keep(plan.practice, plan, incoming, author=author, now=now)
    if not new and reply.plan_id != plan.pk:
        raise FollowUpError("This page belongs to another animal. Open your link again.")
    return taken(plan, understand(reply, now=now), now=now)


def take_note(recipient: Recipient, incoming: Incoming, *, plan: Plan | None, now: dt.datetime) -> Reply:
    """Words for the practice, with or without a follow-up that still runs. A person reads them."""
    reply, _new = keep(recipient.practice, plan, incoming, author=recipient, now=now)
    return understand(reply, now=now).reply


@dataclass(frozen=True)
class Step:
    """One answer is kept; `next` is the key of the next question. `red`: it was acted on before the end, and its

    advice is shown before anything else is asked.
    """

    reply: Reply
    next: str | None
    red: bool


def answer_one(
    plan: Plan, incoming: Incoming, entry: Mapping[str, object], *, author: Recipient, now: dt.datetime
) -> Step:
    """Keep one answer; act at once when it is red, and at the end of the questions."""
    reply = add_answer(plan, incoming, entry, author=author, now=now)
    following = next_key(plan, reply, now)
    red = is_red(reply, plan, now=now)
    if red or following in {None, WHY_SILENT}:  # why nothing was heard is no part of how the animal is
        level = finish(reply, plan, now=now).understood.level
        red = red or (following is not None and level >= Level.URGENT)
    return Step(reply, following, red)


def add_answer(
    plan: Plan, incoming: Incoming, entry: Mapping[str, object], *, author: Recipient | Staff, now: dt.datetime
) -> Reply:
    """One answer of a check-in that is answered question by question. The same entry's id counts once.

    An entry says `at` when it was given, where it was kept on a phone until there was a net; else that is `now`.
    `incoming.raw` is the empty beginning (`one_by_one`), used by the first answer alone.
    """
    begun = replace(incoming, text="")
    reply, _new = keep(plan.practice, plan, begun, author=author, now=now)
    if reply.plan_id != plan.pk or (isinstance(author, Recipient) and reply.recipient_id != author.pk):
        raise FollowUpError("This page belongs to another animal. Open your link again.")
    with transaction.atomic():
        locked = Reply.objects.select_for_update().get(pk=reply.pk)
        if not any(each["id"] == entry["id"] for each in locked.raw["entries"]):
            locked.raw["entries"].append({"at": now.isoformat(), **entry})
            locked.state = Reply.State.STORED
            locked.text = words_in(locked) or incoming.text.strip() or locked.text
            locked.save(update_fields=["raw", "state", "text"])
    return locked


def finish(reply: Reply, plan: Plan, *, now: dt.datetime) -> Taken:
    """Take in what has been answered so far. Finishing twice changes nothing."""
    if reply.state == Reply.State.STORED and (answered_in(reply) or reply.text):
        return taken(plan, understand(reply, now=now), now=now)
    return taken(plan, Understood(reply, None), now=now)


def take_unfinished(*, now: dt.datetime) -> int:
    """From the tick: whatever was stored and never taken in, because somebody stopped half-way or we did."""
    waiting = Reply.objects.filter(state=Reply.State.STORED, received_at__lte=now - LEFT_BY_US)
    left = [reply for reply in waiting.select_related("plan__practice", "plan__patient") if _is_left(reply, now)]
    for reply in left:
        understand(reply, now=now)
    return len(left)


def taken(plan: Plan, understood: Understood, *, now: dt.datetime) -> Taken:
    """With the advice for what was understood; what could not be weighed is never told to be well."""
    plan.refresh_from_db()
    if plan.state != Plan.State.RUNNING:
        return Taken(understood, None)
    return Taken(understood, advice_for(plan, understood.level, now=now))


@transaction.atomic
def keep(
    practice: Practice, plan: Plan | None, incoming: Incoming, *, author: Recipient | Staff, now: dt.datetime
) -> tuple[Reply, bool]:
    """Store it as it came, in a transaction of its own. False: it was here before."""
    reply, new = Reply.objects.get_or_create(
        practice=practice,
        client_id=incoming.client_id,
        defaults={
            "plan": plan,
            "recipient": author if isinstance(author, Recipient) else None,
            "staff": author if isinstance(author, Staff) else None,
            "check_in": incoming.check_in,
            "raw": dict(incoming.raw),
            "text": incoming.text,
            "received_at": now,
        },
    )
    if new:
        Heartbeat.objects.beat("reply", now)
        log(plan or practice, "reply", "", now=now, staff=reply.staff, reply=reply.pk)
    return reply, new


def _is_left(reply: Reply, now: dt.datetime) -> bool:
    newest = max((each.at for each in entries_of(reply)), default=reply.received_at)
    passed = now - newest
    return passed >= LEFT_UNFINISHED or (passed >= LEFT_BY_US and _waits_for_nobody(reply, now))


def _waits_for_nobody(reply: Reply, now: dt.datetime) -> bool:
    """Whether no further answer was awaited: it came whole, or its last answer is red, or was the last of all."""
    if "entries" not in reply.raw:
        return True
    if reply.plan is None or not answered_in(reply):
        return False
    return is_red(reply, reply.plan, now=now) or next_key(reply.plan, reply, now) in {None, WHY_SILENT}
