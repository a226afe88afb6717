"""Heartbeats: when something last worked."""

from __future__ import annotations

import datetime as dt

from django.db import models


class HeartbeatQuerySet(models.QuerySet["Heartbeat"]):
    """Questions about what works."""

    def beat(self, name: str, now: dt.datetime) -> None:
        """Write down that `name` worked at `now`."""
        self.update_or_create(name=name, defaults={"at": now})

    def last_of(self, name: str) -> dt.datetime | None:
        """When `name` last worked; None: never."""
        return self.filter(name=name).values_list("at", flat=True).first()


class Heartbeat(models.Model):
    """`tick`, `sent`, `reply`, `canary`: one row each."""

    name = models.CharField(max_length=40, primary_key=True)
    at = models.DateTimeField()

    objects = HeartbeatQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.name} at {self.at}"
