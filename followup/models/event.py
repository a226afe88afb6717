"""The log: append-only, written by the service that makes the change."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice, Staff
from followup.models.plan import Plan


class Event(models.Model):
    """One thing that happened. `what` is a stable word (`enrolled`, `reply`, `flag_raised`); `text` is for people."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="events")
    plan = models.ForeignKey(Plan, models.CASCADE, null=True, blank=True, related_name="events")
    at = models.DateTimeField()
    staff = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)
    what = models.CharField(max_length=40)
    text = models.TextField(blank=True)
    data = models.JSONField(default=dict)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["plan", "at"], name="events_of_a_plan")]

    def __str__(self) -> str:
        return f"{self.what} at {self.at}"
