"""The door for a separate web server, such as gunicorn. `manage.py serve` needs none."""

from __future__ import annotations

import os

from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

from clinic.starting import unsafe

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

application = get_wsgi_application()
if reasons := unsafe():
    raise ImproperlyConfigured(" ".join(reasons))
