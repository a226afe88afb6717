"""The Celery application. Its settings, timetable and all, are the CELERY_ names of settings.py."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

app = Celery("clinic")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
