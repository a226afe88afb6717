"""gunicorn, as the Compose file and the systemd unit start it. The number of workers is WEB_CONCURRENCY."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import django
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from gunicorn.glogging import Logger

from clinic.log_lines import WithoutCodes

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

try:
    workers = settings.WEB_CONCURRENCY
except ImproperlyConfigured as refusal:
    sys.exit(str(refusal))
worker_class = "gthread"
threads = 4
timeout = 60  # seconds; the longest page takes one or two
graceful_timeout = 30
max_requests, max_requests_jitter = 2000, 200
worker_tmp_dir = "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - a slow disk must not look like a hung worker
accesslog = None  # an owner's address is his key: no log may hold it


class logger_class(Logger):  # type: ignore[misc]  # noqa: N801 - gunicorn's own name; it ships no types
    """What gunicorn complains of may be a path, and a path may be a key."""

    def setup(self, cfg: Any) -> None:
        """As gunicorn does, but every line without codes."""
        super().setup(cfg)
        for handler in self.error_log.handlers:
            handler.setFormatter(WithoutCodes(self.error_fmt, self.datefmt))


def on_starting(server: Any) -> None:
    """An unsafe start ends here, in a sentence, before anything listens. `--workers` may have said another number."""
    settings.WEB_CONCURRENCY = server.cfg.workers
    django.setup()
    from clinic.starting import unsafe  # noqa: PLC0415 - Django must be set up first

    if reasons := unsafe():
        sys.exit(" ".join(reasons))
