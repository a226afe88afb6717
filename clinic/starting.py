"""What every process asks before it starts: would this set-up lose or show something? Then it says so, and does not."""

from __future__ import annotations

from django.conf import settings
from django.core.checks import ERROR, run_checks
from django.core.checks.registry import registry

from clinic.environment import IN_MEMORY

SET_UP, SHIPPED = "set_up", "shipped"
"""Tags of our own: of what somebody sets, and of the files that ship, which cannot change while processes start."""
APART = (
    "An in-memory queue reaches only its own process: set REDIS_URL for a worker and Beat of their own, "
    "or start everything at once with `manage.py serve`."
)
NO_KEYS = "No keys are kept yet: run `manage.py prepare` once, or set SECRET_KEY and LINK_KEYS."


def unsafe() -> list[str]:
    """Every reason, a sentence each, why no process may start with these settings; none: it may.

    What ships was read whole by `prepare`, once for all of them: to read it takes longer than all else at a start.
    """
    asked = set(registry.tags_available()) - {SHIPPED}
    serious = [found for found in run_checks(tags=sorted(asked)) if found.level >= ERROR and not found.is_silenced()]
    said = [f"{found.msg} {found.hint or ''}".strip() for found in serious]
    return said if settings.KEYS.kept else [*said, NO_KEYS]


def unsafe_apart() -> list[str]:
    """The same for a worker or a Beat that is a process of its own."""
    return [*unsafe(), *([APART] if settings.CELERY_BROKER_URL == IN_MEMORY else [])]
