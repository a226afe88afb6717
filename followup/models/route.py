"""Routes: one way out of this installation, and whether anything gets through it at present."""

from __future__ import annotations

import datetime as dt

from django.db import models


class RouteQuerySet(models.QuerySet["Route"]):
    """Questions about ways out."""

    def shut(self, now: dt.datetime) -> RouteQuerySet:
        """Through which nothing is tried at `now`."""
        return self.filter(shut_until__gt=now)

    def faulty(self) -> RouteQuerySet:
        """Whose last try found that nothing at all gets through."""
        return self.filter(failures__gt=0)


class Route(models.Model):
    """`name` is `practice:3:sms` or `installation:email`. `why` never holds an address or a secret.

    `failures` counts the tries in a row at which the whole channel failed; from some on, the route is shut for a while,
    and then one message tries it.
    """

    name = models.CharField(max_length=60, primary_key=True)
    failures = models.PositiveIntegerField(default=0)
    shut_until = models.DateTimeField(null=True, blank=True)
    since = models.DateTimeField(null=True, blank=True)
    why = models.TextField(blank=True)
    last_ok_at = models.DateTimeField(null=True, blank=True)

    objects = RouteQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name
