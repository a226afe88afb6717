"""How far the demo's clock runs ahead of the machine's."""

from __future__ import annotations

import datetime as dt

from django.db import models


class ClockOffset(models.Model):
    """One row at most. Read by `clinic.clock`, and only in the demo and in tests."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    offset = models.DurationField(default=dt.timedelta(0))

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(id=1), name="there_is_one_clock"),
        ]

    def __str__(self) -> str:
        return f"the clock is {self.offset} ahead"
