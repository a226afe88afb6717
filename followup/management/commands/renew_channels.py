"""Keep every channel's settings under the newest SECRET_KEY, so that the older ones can be dropped."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from followup.models import Channel
from followup.services.channel_secrets import renew


class Command(BaseCommand):
    """After a change of SECRET_KEY, with the old one in SECRET_KEY_FALLBACKS."""

    help = "Encrypt the settings of channels anew with the newest SECRET_KEY."

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Say how many; exit 1 when some cannot be read by any key that is here."""
        done, lost = renew(Channel.objects.order_by("pk"))
        self.stdout.write(f"Renewed: {done}.")
        if lost:
            raise CommandError(f"No key here can read {lost} of them: fill those channels in anew.")
