"""gunicorn, as the Compose file and the systemd unit start it. The number of workers is WEB_CONCURRENCY."""

from __future__ import annotations

import os
from typing import Any

worker_class = "gthread"
threads = 4
timeout = 60  # seconds; the longest page takes one or two
graceful_timeout = 30
max_requests, max_requests_jitter = 2000, 200
accesslog = None  # an owner's address is his key: no log may hold it


def on_starting(server: Any) -> None:
    """Tell the settings how many there really are, so that an unsafe number is refused."""
    os.environ["WEB_CONCURRENCY"] = str(server.cfg.workers)
