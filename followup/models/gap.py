"""Gaps: spans in which this installation sent nothing, or which an older backup has lost."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Staff

SETTLES = dt.timedelta(minutes=10)
"""Until so long after sending came back, whatever is queued counts as piled up: a tick asks 200 rows of it at most."""


class GapQuerySet(models.QuerySet["Gap"]):
    """Questions about gaps."""

    def holding(self) -> GapQuerySet:
        """Restored from an older backup, and nobody has confirmed yet: owners are sent nothing."""
        return self.filter(kind=Gap.Kind.RESTORED, confirmed_at__isnull=True)

    def being_caught_up(self) -> GapQuerySet:
        """Sending was down or held, and what had piled up is still going out, slowly. The newest first."""
        over = models.Q(kind=Gap.Kind.STOPPED) | models.Q(confirmed_at__isnull=False)
        return self.filter(over, caught_up_at__isnull=True).order_by("-ended_at", "-pk")

    def unfinished(self) -> GapQuerySet:
        """Holding or being caught up; those that hold first, then the newest."""
        return self.filter(caught_up_at__isnull=True).order_by("kind", "-ended_at", "-pk")  # restored before stopped


class Gap(models.Model):
    """`began_at` to `ended_at`. `sent` counts what was let go to owners since, while it is being caught up.

    `paced_from`: from when on the pace is reckoned. `paced` is what of it is used up, or was not used and is over.
    """

    class Kind(models.TextChoices):
        """What happened."""

        STOPPED = "stopped", "sending was down"
        RESTORED = "restored", "restored from an older backup"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    sent = models.PositiveIntegerField(default=0)
    paced_from = models.DateTimeField(null=True, blank=True)
    paced = models.PositiveIntegerField(default=0)
    caught_up_at = models.DateTimeField(null=True, blank=True)
    confirmed_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    confirmed_at = models.DateTimeField(null=True, blank=True)

    objects = GapQuerySet.as_manager()

    class Meta:
        ordering = ["-ended_at"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "began_at"], name="a_gap_is_written_down_once"),
            models.CheckConstraint(condition=models.Q(began_at__lt=models.F("ended_at")), name="a_gap_has_a_length"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} from {self.began_at} to {self.ended_at}"

    @property
    def holds(self) -> bool:
        """Whether owners are sent nothing because of it."""
        return self.kind == self.Kind.RESTORED and self.confirmed_at is None

    @property
    def starts_again(self) -> dt.datetime:
        """From when on owners may be written to again, slowly."""
        return self.paced_from or self.ended_at

    @property
    def piled_up_until(self) -> dt.datetime:
        """What was queued before this had piled up."""
        return self.starts_again + SETTLES
