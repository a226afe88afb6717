"""Who is treated, and by whom: practices, staff, owners, patients. And the project's settings."""

from clinic.celery import app as celery_app

__all__ = ["celery_app"]
