"""A dose that the owner is asked to give."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice
from followup.domain.terms import DoseOutcome
from followup.models.plan import Plan


class DoseQuerySet(models.QuerySet["Dose"]):
    """Questions about doses."""

    def to_remind(self, now: dt.datetime, *, ahead: dt.timedelta = dt.timedelta(0)) -> DoseQuerySet:
        """Due by `ahead` from now, of a running plan, not written about, reported or cancelled, still worth giving."""
        return self.filter(
            plan__state=Plan.State.RUNNING,
            plan__paused="",
            state=Dose.State.PLANNED,
            reminded_at__isnull=True,
            at__lte=now + ahead,
            give_until__gt=now,
        )


class Dose(models.Model):
    """One dose. `amount` is what the owner draws up, in words ("0.18 ml"); `outcome` stays empty until reported.

    `told_at`: when somebody last told of it. `held`: its reminder asks to phone first, until a vet releases the drug.
    """

    class State(models.TextChoices):
        """A dose's life. Ended: open when the plan changed, so asked for no more; it may have been given."""

        PLANNED = "planned", "planned"
        REPORTED = "reported", "reported"
        ENDED = "ended", "asked for no more"
        CANCELLED = "cancelled", "cancelled"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="doses")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="doses")
    drug = models.CharField(max_length=60)
    number = models.PositiveSmallIntegerField()
    at = models.DateTimeField()
    not_before = models.DateTimeField()
    give_until = models.DateTimeField()
    amount = models.CharField(max_length=60)
    strength = models.CharField(max_length=60, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.PLANNED)
    held = models.BooleanField(default=False)
    outcome = models.CharField(
        max_length=12,
        choices=[(o.value, o.value.replace("_", " ")) for o in DoseOutcome],
        blank=True,
    )
    given_at = models.DateTimeField(null=True, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)
    reminded_at = models.DateTimeField(null=True, blank=True)

    objects = DoseQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [
            models.Index(
                fields=["at"],
                condition=models.Q(state="planned", reminded_at__isnull=True),
                name="doses_to_remind",
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "drug", "number"],
                condition=~models.Q(state="cancelled"),
                name="one_dose_per_number",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="reported") | ~models.Q(outcome=""),
                name="a_reported_dose_has_an_outcome",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.drug} {self.amount}, dose {self.number}"
