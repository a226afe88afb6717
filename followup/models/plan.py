"""A plan: one recovery, from discharge to sign-off."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Patient, Practice, Staff
from followup.domain.terms import Level, Outcome, Procedure
from followup.models.protocol_version import ProtocolVersion


class PlanQuerySet(models.QuerySet["Plan"]):
    """Questions about recoveries."""

    def of(self, practice: Practice) -> PlanQuerySet:
        """Of one practice."""
        return self.filter(practice=practice)

    def running(self) -> PlanQuerySet:
        """Confirmed and not yet closed."""
        return self.filter(state=Plan.State.RUNNING)

    def to_look_at(self, now: dt.datetime) -> PlanQuerySet:
        """Whose level may have risen by time alone."""
        return self.running().filter(look_again_at__lte=now)

    def move(self, pk: int, *, old: str, new: str, **stamps: object) -> bool:
        """Take one step in a plan's life. True for exactly one caller, however many try."""
        return self.filter(pk=pk, state=old).update(state=new, **stamps) == 1


class Plan(models.Model):
    """`case` is the recovery as facts (case format, without observations); `compiled` what was computed from it.

    `version` counts changes; earlier ones are PlanVersion rows. `releases`: drug and time of each vet's word that a
    held medicine may go on. `admitted_at`: since when it is in a clinic; `home_again_at`: when it last came home from
    there; what was seen before that an examination has settled. `not_weighed_at`: since when the rules could not be
    weighed; meanwhile `level` is at least urgent, since nobody knows.
    """

    class State(models.TextChoices):
        """A plan's life."""

        WAITING_FOR_VET = "waiting_for_vet", "waiting for a vet"
        RUNNING = "running", "running"
        CLOSED = "closed", "closed"
        TAKEN_BACK = "taken_back", "taken back"

    class Pause(models.TextChoices):
        """Why nothing is sent to the owner."""

        DIED = "died", "died"
        WORDS_SAY_DIED = "words_say_died", "the words say that it died"
        IN_HOSPITAL = "in_hospital", "in a clinic"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="plans")
    patient = models.ForeignKey(Patient, models.CASCADE, related_name="plans")
    procedure = models.CharField(max_length=20, choices=[(p.value, p.value.replace("_", " ")) for p in Procedure])
    operated_on = models.DateField()
    protocol = models.ForeignKey(ProtocolVersion, models.PROTECT, related_name="plans")
    version = models.PositiveIntegerField(default=1)
    case = models.JSONField()
    compiled = models.JSONField()
    dosing_weight_g = models.FloatField(null=True, blank=True)
    releases = models.JSONField(default=list, blank=True)
    admitted_at = models.DateTimeField(null=True, blank=True)
    home_again_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=16, choices=State.choices)
    paused = models.CharField(max_length=16, choices=Pause.choices, blank=True)
    surgery_ended_at = models.DateTimeField()
    discharged_at = models.DateTimeField()
    sign_off_at = models.DateTimeField()
    level = models.PositiveSmallIntegerField(
        choices=[(level.value, level.word) for level in Level], default=Level.ON_TRACK.value
    )
    look_again_at = models.DateTimeField(null=True, blank=True)
    assessed_at = models.DateTimeField(null=True, blank=True)
    not_weighed_at = models.DateTimeField(null=True, blank=True)
    enrolled_by = models.ForeignKey(Staff, models.PROTECT, related_name="plans_enrolled")
    enrolled_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="plans_confirmed")
    confirmed_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(
        max_length=24, choices=[(o.value, o.value.replace("_", " ")) for o in Outcome], blank=True
    )
    closed_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="plans_closed")
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = PlanQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["practice", "state"], name="plans_of_a_practice"),
            models.Index(
                fields=["look_again_at"],
                condition=models.Q(state="running"),
                name="plans_to_look_at",
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["patient", "procedure", "operated_on"],
                condition=~models.Q(state="taken_back"),
                name="one_plan_per_operation",
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["waiting_for_vet", "taken_back"]) | models.Q(confirmed_at__isnull=False),
                name="a_running_plan_was_confirmed",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="closed") | (models.Q(closed_at__isnull=False) & ~models.Q(outcome="")),
                name="a_closed_plan_has_an_outcome",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.patient}, {self.get_procedure_display()} on {self.operated_on}"

    def day(self, now: dt.datetime) -> int:
        """Calendar day since surgery in the practice's zone; the day of surgery is 0."""
        return (now.astimezone(self.practice.zone).date() - self.operated_on).days
