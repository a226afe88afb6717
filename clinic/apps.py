"""The clinic as a Django application."""

from __future__ import annotations

from django.apps import AppConfig


class ClinicConfig(AppConfig):
    """Registers the checks that refuse an unsafe set-up."""

    name = "clinic"

    def ready(self) -> None:
        """Importing them registers them."""
        from clinic import checks  # noqa: F401, PLC0415  Django must be set up first
