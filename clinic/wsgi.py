"""The door for a separate web server, such as gunicorn. `manage.py serve` needs none."""

from __future__ import annotations

import os

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

if not settings.KEYS.kept:
    raise ImproperlyConfigured("No keys are kept yet: run `manage.py serve` once, or set SECRET_KEY and LINK_KEYS.")

application = get_wsgi_application()
