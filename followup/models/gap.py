"""Gaps: spans in which this installation sent nothing, or which an older backup has lost."""

from __future__ import annotations

from django.db import models

from clinic.models import Staff


class GapQuerySet(models.QuerySet["Gap"]):
    """Questions about gaps."""

    def holding(self) -> GapQuerySet:
        """Restored from an older backup, and nobody has confirmed yet: owners are sent nothing."""
        return self.filter(kind=Gap.Kind.RESTORED, confirmed_at__isnull=True)

    def being_caught_up(self) -> GapQuerySet:
        """Sending was down, and what had piled up is still going out, slowly."""
        return self.filter(kind=Gap.Kind.STOPPED, caught_up_at__isnull=True)


class Gap(models.Model):
    """`began_at` to `ended_at`. `sent` counts what went to owners since, while it is being caught up."""

    class Kind(models.TextChoices):
        """What happened."""

        STOPPED = "stopped", "sending was down"
        RESTORED = "restored", "restored from an older backup"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    sent = models.PositiveIntegerField(default=0)
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
