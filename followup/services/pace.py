"""Spans of delivery as they are waited for: as they are, or divided where a trial of faults has no hours to spend."""

from __future__ import annotations

import datetime as dt

from django.conf import settings


def paced(span: dt.timedelta) -> dt.timedelta:
    """The span, divided by what the trial asks for; in a clinic always the span itself."""
    return span / settings.TRIAL_PACE
