"""The installation itself: which one it is, how many ticks it has begun, and what it knows of its machines' clocks."""

from __future__ import annotations

import datetime as dt
import uuid

from django.db import models

NONE = dt.timedelta(0)


class InstallationQuerySet(models.QuerySet["Installation"]):
    """Questions about this installation."""

    def this(self) -> Installation:
        """The one row, made at the first tick."""
        return self.get_or_create(pk=1)[0]

    def begun(self, *, now: dt.datetime) -> Installation:
        """Count one more tick, before anything of it leaves."""
        self.filter(pk=1).update(ticks=models.F("ticks") + 1, last_begun_at=now)
        return self.this()

    def ended(self, *, now: dt.datetime, moved_on: dt.timedelta) -> None:
        """The tick of `now` was done wholly; and how far the demo's clock had been moved on by then."""
        self.filter(pk=1).update(last_tick_at=now, moved_on=moved_on)


class Installation(models.Model):
    """`epoch` is made with the database and goes into its backups; `ticks`, of those begun, only ever grows.

    `last_begun_at` belongs to `ticks`, whether or not that tick came to its end. `last_tick_at`, of a whole tick, is
    the heartbeat of the tick once more, in one row with `moved_on`, without which it cannot be read.
    `clock_off_by`: how far a machine's clock was found off at `clock_off_at`; a tick writes it for as long as it is so.
    `expiry_waits_until`: the clock was set back; until then nothing is given up as too late.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    epoch = models.UUIDField(default=uuid.uuid4)
    ticks = models.PositiveBigIntegerField(default=0)
    last_begun_at = models.DateTimeField(null=True, blank=True)
    last_tick_at = models.DateTimeField(null=True, blank=True)
    moved_on = models.DurationField(default=NONE)
    clock_off_by = models.DurationField(default=NONE)
    clock_off_at = models.DateTimeField(null=True, blank=True)
    expiry_waits_until = models.DateTimeField(null=True, blank=True)

    objects = InstallationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(id=1), name="there_is_one_installation"),
        ]

    def __str__(self) -> str:
        return f"installation {self.epoch}"
