"""A plan as it was before it was changed."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice, Staff
from followup.models.plan import Plan


class PlanVersion(models.Model):
    """One earlier version, kept whole. The version in force is the plan itself. Rows are never changed.

    `changes`: what the next version changed, one sentence each; `because`: why, in the words of who changed it.
    """

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="plan_versions")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="versions")
    number = models.PositiveIntegerField()
    case = models.JSONField()
    compiled = models.JSONField()
    dosing_weight_g = models.FloatField(null=True, blank=True)
    replaced_at = models.DateTimeField()
    replaced_by = models.ForeignKey(Staff, models.PROTECT, related_name="plan_versions_replaced")
    because = models.TextField()
    changes = models.JSONField(default=list)

    class Meta:
        ordering = ["plan", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "number"], name="one_row_per_version_of_a_plan"),
        ]

    def __str__(self) -> str:
        return f"{self.plan}, version {self.number}"
