"""Follow-up as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class FollowupConfig(AppConfig):
    """Registers the checks of how messages leave."""

    name = "followup"

    def ready(self) -> None:
        """Importing them registers them."""
        from followup import checks  # noqa: F401, PLC0415  Django must be set up first
