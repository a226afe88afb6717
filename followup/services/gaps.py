"""Gaps: seen at the beginning of a tick, written down once, tended until they are over.

Sending was down: what had piled up goes out slowly. Put back from an older backup: owners are sent nothing until a
person has confirmed, since what fell due in between may have gone out. Source: DEVELOPERS.md, "Gaps and clocks".
"""

from __future__ import annotations

import datetime as dt
import logging

from django.db import transaction

from clinic.models import Practice, Staff
from clinic.services.witness import Witness, read_witness, write_witness
from followup.domain.terms import FollowUpError
from followup.models import Gap, Installation, Message
from followup.services.after_a_gap import leave_what_is_past, leave_what_may_have_gone
from followup.services.clock_guard import watch_the_clock
from followup.services.log import log

logger = logging.getLogger(__name__)

NONE = dt.timedelta(0)
DOWN_FOR = dt.timedelta(minutes=10)
"""Without a whole tick for longer than this, sending was down."""
LOST = dt.timedelta(seconds=60)
"""A database that is further than this behind its witness was put back; a power cut may cost less."""


class AlreadyConfirmed(FollowUpError):
    """Somebody else has confirmed it."""


def begin(*, now: dt.datetime, off_by: dt.timedelta = NONE, moved_on: dt.timedelta = NONE) -> None:
    """The first part of a tick: was anything lost since the last one, and is it over by now?"""
    witness = read_witness()  # before the database: another process writes the database first
    before = Installation.objects.this()
    if before.last_begun_at is not None:
        _look_whether_restored(before, before.last_begun_at, witness, now=now)
    if before.last_tick_at is not None:
        _look_whether_down(before, before.last_tick_at, now=now, moved_on=moved_on)
    _keep_in_mind(now=now)
    unfinished = list(Gap.objects.unfinished())
    for gap in [each for each in unfinished if each.holds] or unfinished:  # while one holds, nothing is caught up
        _tend(gap, now=now)
    watch_the_clock(before, now=now, off_by=off_by, moved_on=moved_on)


def end(*, now: dt.datetime, moved_on: dt.timedelta = NONE) -> None:
    """The last part of a whole tick."""
    Installation.objects.ended(now=now, moved_on=moved_on)


@transaction.atomic
def confirm_restored(gap: Gap, *, staff: Staff, now: dt.datetime) -> None:
    """A person has looked at what was lost: owners are written to again, slowly at first."""
    held = Gap.objects.holding().filter(pk=gap.pk)
    confirmed = held.update(confirmed_by=staff, confirmed_at=now, paced_from=now, paced=0)
    gap.refresh_from_db()
    if not confirmed:
        raise AlreadyConfirmed(f"{gap.confirmed_by or 'Nobody'} has confirmed this one already, or it held nothing.")
    Gap.objects.being_caught_up().exclude(pk=gap.pk).update(caught_up_at=now)  # what it left goes on as this one's
    for practice in Practice.objects.all():
        log(practice, "restore_confirmed", f"{staff} lets messages go out again", now=now, staff=staff, gap=gap.pk)


def _keep_in_mind(*, now: dt.datetime) -> None:
    """How far the database has come, in it and beside it, before anything leaves: this tick may never end."""
    row = Installation.objects.begun(now=now)
    write_witness(Witness(row.epoch, row.ticks, now))


def _look_whether_restored(
    before: Installation, last: dt.datetime, witness: Witness | None, *, now: dt.datetime
) -> None:
    """The count of ticks tells it, whatever any clock says; of another installation the witness knows nothing."""
    if witness is None or witness.epoch != before.epoch or witness.ticks <= before.ticks:
        return
    if witness.at - last > LOST:
        ended = min(witness.at, now) if now > last else witness.at
        _write_down(Gap.Kind.RESTORED, last, ended, now=now)


def _look_whether_down(before: Installation, last: dt.datetime, *, now: dt.datetime, moved_on: dt.timedelta) -> None:
    """In time that really passed: a demo's clock that was moved on is no outage."""
    passed = (now - moved_on) - (last - before.moved_on)
    if passed <= DOWN_FOR or now <= last:
        return
    gap = _write_down(Gap.Kind.STOPPED, last, now, now=now)
    longer = Gap.objects.filter(pk=gap.pk, ended_at__lt=now - DOWN_FOR)  # no whole tick since: it was not the end
    longer.update(ended_at=now, paced_from=now, paced=0, caught_up_at=None)


@transaction.atomic
def _write_down(kind: Gap.Kind, began: dt.datetime, ended: dt.datetime, *, now: dt.datetime) -> Gap:
    gap, made = Gap.objects.get_or_create(
        kind=kind,
        began_at=began,
        defaults={"ended_at": ended, "paced_from": None if kind == Gap.Kind.RESTORED else now},
    )
    if made:
        logger.warning("%s", gap)
        older = Gap.objects.being_caught_up().exclude(pk=gap.pk)
        older.update(caught_up_at=now)  # what they left is this one's
        for practice in Practice.objects.all():
            log(practice, kind, str(gap), now=now, gap=gap.pk)
    return gap


def _tend(gap: Gap, *, now: dt.datetime) -> None:
    if gap.holds:
        leave_what_may_have_gone(gap, now=now)
    leave_what_is_past(gap, now=now)
    if not gap.holds and now >= gap.piled_up_until and not _still_piled_up(gap):
        Gap.objects.filter(pk=gap.pk, caught_up_at=None).update(caught_up_at=now)


def _still_piled_up(gap: Gap) -> bool:
    waiting = Message.objects.to_owners().filter(state__in=[Message.State.READY, Message.State.LEASED])
    return waiting.filter(due_at__lte=gap.piled_up_until, practice__messages_paused=False).exists()
