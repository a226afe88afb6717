"""A date after which the owner is written to once: mostly after the follow-up itself has ended."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice
from followup.models.plan import Plan


class NoticeQuerySet(models.QuerySet["Notice"]):
    """Questions about notices."""

    def to_send(self, now: dt.datetime) -> NoticeQuerySet:
        """Due, of a patient that lives and is at home, and not yet dealt with."""
        plans = models.Q(plan__state__in=[Plan.State.RUNNING, Plan.State.CLOSED], plan__paused="")
        return self.filter(plans, at__lte=now, done_at__isnull=True, plan__patient__died_at__isnull=True)

    def how_it_turned_out(self, now: dt.datetime) -> NoticeQuerySet:
        """Those of day 30 whose day has come, of patients that live: they may be answered."""
        return self.filter(kind=Notice.Kind.DAY_30, at__lte=now, plan__patient__died_at__isnull=True)

    def whether_reached(self, now: dt.datetime) -> NoticeQuerySet:
        """Those that ask whether a vet was reached, from the waking on, of running follow-ups."""
        running = self.filter(plan__state=Plan.State.RUNNING, plan__paused="", plan__patient__died_at__isnull=True)
        return running.filter(kind=Notice.Kind.REACHED_VET, at__lte=now)


class Notice(models.Model):
    """`done_at`: queued, or left because it was too late to be of use. `answer`: what the owner tapped."""

    class Kind(models.TextChoices):
        """What it is about."""

        APART_SOON = "apart_soon", "two weeks until he may be with females again"
        APART_OVER = "apart_over", "he may be with females again"
        DAY_30 = "day_30", "how it turned out, 30 days on"
        REACHED_VET = "reached_vet", "whether a vet was reached in the night"

    class Answer(models.TextChoices):
        """How it turned out."""

        WELL = "well", "all is well"
        NOT_WELL = "not_well", "something is, or was, wrong"

    class Reached(models.TextChoices):
        """Whether a vet was reached."""

        YES = "reached", "a vet was reached"
        NOT_YET = "not_yet", "no vet was reached yet"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="notices")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="notices")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    answer = models.CharField(max_length=8, choices=[*Answer.choices, *Reached.choices], blank=True, default="")

    objects = NoticeQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["at"], condition=models.Q(done_at__isnull=True), name="notices_to_send"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["plan", "kind"], name="one_notice_of_a_kind_per_plan"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.plan_id}"
