"""Replies as they came, and observations as they were understood."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice, Staff
from followup.domain.terms import Observer
from followup.models.check_in import CheckIn
from followup.models.plan import Plan
from followup.models.recipient import Recipient


class Reply(models.Model):
    """What came in, stored before it is understood. Sent twice counts once: the writer makes `client_id`."""

    class State(models.TextChoices):
        """How far it got."""

        STORED = "stored", "stored"
        UNDERSTOOD = "understood", "understood"
        FOR_A_PERSON = "for_a_person", "for a person to read"
        READ = "read", "read by a person"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="replies")
    plan = models.ForeignKey(Plan, models.CASCADE, null=True, blank=True, related_name="replies")
    recipient = models.ForeignKey(Recipient, models.CASCADE, null=True, blank=True, related_name="replies")
    staff = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)
    check_in = models.ForeignKey(CheckIn, models.SET_NULL, null=True, blank=True, related_name="replies")
    client_id = models.CharField(max_length=64)
    raw = models.JSONField()
    text = models.TextField(blank=True)
    received_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=State.choices, default=State.STORED)
    read_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="replies_read")

    class Meta:
        verbose_name_plural = "replies"
        indexes = [
            models.Index(fields=["practice", "-received_at"], name="replies_of_a_practice"),
            models.Index(fields=["received_at"], condition=models.Q(state="stored"), name="replies_left_unfinished"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["practice", "client_id"], name="a_reply_counts_once"),
        ]

    def __str__(self) -> str:
        return f"reply {self.pk}"


class Observation(models.Model):
    """What was seen, understood. `facts` has the shape of an observation in the case format, `at` included.

    `seen_at` is when the animal was seen, `arrived_at` when we heard of it.
    """

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="observations")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="observations")
    reply = models.ForeignKey(Reply, models.CASCADE, null=True, blank=True, related_name="observations")
    by = models.CharField(max_length=6, choices=[(o.value, o.value) for o in Observer])
    seen_at = models.DateTimeField()
    arrived_at = models.DateTimeField()
    facts = models.JSONField()

    class Meta:
        ordering = ["seen_at", "pk"]
        indexes = [models.Index(fields=["plan", "seen_at"], name="observations_of_a_plan")]

    def __str__(self) -> str:
        return f"observation {self.pk}"
