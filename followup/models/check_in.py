"""A check-in: we ask, at a moment, some questions."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice
from followup.domain.terms import CheckInKind
from followup.models.plan import Plan


class CheckInQuerySet(models.QuerySet["CheckIn"]):
    """Questions about check-ins."""

    def to_ask(self, now: dt.datetime, *, ahead: dt.timedelta = dt.timedelta(0)) -> CheckInQuerySet:
        """Due, or within `ahead`, of a running plan, and not yet asked."""
        return self.filter(
            plan__state=Plan.State.RUNNING,
            plan__paused="",
            state=CheckIn.State.PLANNED,
            at__lte=now + ahead,
        )

    def open(self) -> CheckInQuerySet:
        """Asked and not answered."""
        return self.filter(state=CheckIn.State.ASKED)

    def to_remind(self, now: dt.datetime) -> CheckInQuerySet:
        """Asked, unanswered, and with a reminder due."""
        return self.open().filter(plan__state=Plan.State.RUNNING, plan__paused="", remind_at__lte=now)


class CheckIn(models.Model):
    """`questions` are observation keys. From `answer_by` on, no answer is itself a sign.

    `extra` check-ins are asked because of an answer or a running clock; their silence is no sign of its own.
    """

    class State(models.TextChoices):
        """A check-in's life."""

        PLANNED = "planned", "planned"
        ASKED = "asked", "asked"
        ANSWERED = "answered", "answered"
        CANCELLED = "cancelled", "cancelled"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="check_ins")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="check_ins")
    kind = models.CharField(max_length=10, choices=[(k.value, k.value) for k in CheckInKind])
    day = models.PositiveSmallIntegerField()
    at = models.DateTimeField()
    answer_by = models.DateTimeField()
    questions = models.JSONField(default=list)
    photo = models.BooleanField(default=False)
    state = models.CharField(max_length=10, choices=State.choices, default=State.PLANNED)
    asked_at = models.DateTimeField(null=True, blank=True)
    could_not_be_asked = models.BooleanField(default=False)
    remind_at = models.DateTimeField(null=True, blank=True)
    reminders = models.PositiveSmallIntegerField(default=0)
    answered_at = models.DateTimeField(null=True, blank=True)

    objects = CheckInQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [
            models.Index(fields=["at"], condition=models.Q(state="planned"), name="check_ins_to_ask"),
            models.Index(fields=["remind_at"], condition=models.Q(state="asked"), name="check_ins_to_remind"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "at", "kind"],
                condition=~models.Q(state="cancelled"),
                name="one_check_in_per_moment",
            ),
            models.CheckConstraint(
                condition=models.Q(answer_by__gte=models.F("at")),
                name="an_answer_is_wanted_after_the_question",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of day {self.day}"
