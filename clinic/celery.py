"""The Celery application. Its settings, timetable and all, are the CELERY_ names of settings.py."""

from __future__ import annotations

import os
import sys
from typing import Any

import django
from celery import Celery
from celery.signals import beat_init, celeryd_init

from clinic.starting import unsafe_apart

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

app = Celery("clinic")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@celeryd_init.connect
@beat_init.connect
def refuse_unsafe(sender: Any = None, **_: Any) -> None:
    """A worker or Beat of its own does not start with settings that would lose ticks; `serve`'s has been looked at."""
    if getattr(sender, "inside_serve", False):
        return
    django.setup()
    if reasons := unsafe_apart():
        print(" ".join(reasons), file=sys.__stderr__)
        raise SystemExit(1)  # Celery swallows any other exception of a handler
