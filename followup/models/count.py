"""Counts of what must never happen, so that it is seen when it does."""

from __future__ import annotations

import datetime as dt

from django.db import models


class CountQuerySet(models.QuerySet["Count"]):
    """Questions about counts."""

    def one_more(self, name: str, now: dt.datetime) -> None:
        """Count one more of `name`, at `now`."""
        self.get_or_create(name=name, defaults={"last_at": now})
        self.filter(name=name).update(number=models.F("number") + 1, last_at=now)

    def of(self, name: str) -> int:
        """How many there were; 0: none."""
        return self.filter(name=name).values_list("number", flat=True).first() or 0


class Count(models.Model):
    """`night_sends`: a message was about to wake an owner. `clock_set_back`, `clock_jumped`: this machine's clock."""

    name = models.CharField(max_length=40, primary_key=True)
    number = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField()

    objects = CountQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.number} {self.name}"
