"""Photos of a wound, re-encoded and without location data."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice
from followup.models.plan import Plan
from followup.models.reply import Reply


class Photo(models.Model):
    """`file` is a name of our own under DATA_DIR/photos; an unreadable one is kept and shown as such."""

    class State(models.TextChoices):
        """Whether it can be shown."""

        SHOWN = "shown", "can be shown"
        UNREADABLE = "unreadable", "could not be read"

    class Flaw(models.TextChoices):
        """Why little can be seen on it; it is shown all the same."""

        DARK = "dark", "dark"
        BLURRED = "blurred", "blurred"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="photos")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="photos")
    reply = models.ForeignKey(Reply, models.CASCADE, null=True, blank=True, related_name="photos")
    client_id = models.CharField(max_length=64)
    file = models.CharField(max_length=80)
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    taken_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=State.choices, default=State.SHOWN)
    flaw = models.CharField(max_length=8, choices=Flaw.choices, blank=True)

    class Meta:
        ordering = ["received_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["practice", "client_id"], name="a_photo_counts_once"),
        ]

    def __str__(self) -> str:
        return f"photo {self.pk}"
