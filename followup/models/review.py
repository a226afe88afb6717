"""Wound reviews of day 3 and day 10."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice, Staff
from followup.models.plan import Plan


class WoundReviewQuerySet(models.QuerySet["WoundReview"]):
    """Questions about wound reviews."""

    def due(self, now: dt.datetime) -> WoundReviewQuerySet:
        """Not done, and their time has come."""
        return self.filter(done_at__isnull=True, cancelled=False, due_at__lte=now)


class WoundReview(models.Model):
    """One look at the wound by a person, from a photo or in person. `as_expected`: the owner was told that it is."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="wound_reviews")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="wound_reviews")
    day = models.PositiveSmallIntegerField()
    due_at = models.DateTimeField()
    cancelled = models.BooleanField(default=False)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)
    found = models.TextField(blank=True)
    decision = models.TextField(blank=True)
    as_expected = models.BooleanField(default=False)

    objects = WoundReviewQuerySet.as_manager()

    class Meta:
        ordering = ["due_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "day"], name="one_wound_review_per_day"),
        ]

    def __str__(self) -> str:
        return f"wound review of day {self.day}"
