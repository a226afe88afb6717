"""Verdicts as they were given: one row for each change, with its cause."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice
from followup.domain.terms import Level
from followup.models.plan import Plan


class Verdict(models.Model):
    """`body` has the shape of a triage result: rules, values, limits, protocol version. Append-only."""

    class Cause(models.TextChoices):
        """What made us look."""

        ENROLLED = "enrolled", "enrolled"
        REPLY = "reply", "an answer"
        TIME = "time", "time alone"
        STAFF = "staff", "staff"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="verdicts")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="verdicts")
    at = models.DateTimeField()
    level = models.PositiveSmallIntegerField(choices=[(each.value, each.word) for each in Level])
    cause = models.CharField(max_length=10, choices=Cause.choices)
    body = models.JSONField()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["plan", "-at"], name="verdicts_of_a_plan")]

    def __str__(self) -> str:
        return f"verdict {self.get_level_display()} at {self.at}"
