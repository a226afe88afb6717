"""Tasks for people: phone, mend an address, read words, confirm a plan."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice, Staff
from followup.models.plan import Plan


class TaskQuerySet(models.QuerySet["Task"]):
    """Questions about tasks."""

    def open(self) -> TaskQuerySet:
        """Not yet done."""
        return self.filter(done_at__isnull=True)

    def due(self, now: dt.datetime) -> TaskQuerySet:
        """Open, and their time has come."""
        return self.open().filter(due_at__lte=now)


class Task(models.Model):
    """Something only a person can do. `key` makes queueing it twice impossible."""

    class Kind(models.TextChoices):
        """What is to be done."""

        PHONE = "phone", "phone"
        MEND_ADDRESS = "mend_address", "mend an address"
        READ_WORDS = "read_words", "read an owner's words"
        CONFIRM_PLAN = "confirm_plan", "confirm a plan"
        LOOK = "look", "look"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="tasks")
    plan = models.ForeignKey(Plan, models.CASCADE, null=True, blank=True, related_name="tasks")
    kind = models.CharField(max_length=14, choices=Kind.choices)
    key = models.CharField(max_length=240)
    text = models.TextField()
    due_at = models.DateTimeField()
    made_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)
    result = models.TextField(blank=True)

    objects = TaskQuerySet.as_manager()

    class Meta:
        ordering = ["due_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["practice", "key"], name="a_task_is_made_once"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.text}"
