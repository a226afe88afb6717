"""Channels: how one practice sends one kind of message. No row: the installation's setting, else the tray."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice
from followup.models.message import Message


class Channel(models.Model):
    """`secret_url` is an Apprise URL, encrypted with a key that is not in the database."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="channels")
    medium = models.CharField(max_length=8, choices=Message.Medium.choices)
    secret_url = models.TextField()
    enabled = models.BooleanField(default=True)
    closed_until = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "medium"], name="one_channel_per_medium"),
        ]

    def __str__(self) -> str:
        return f"{self.get_medium_display()} of {self.practice}"
