"""The addresses of channels as they are kept: encrypted, by a key that is made from SECRET_KEY and is in no database.

What is kept under an older key is still read while that key stands in SECRET_KEY_FALLBACKS; `renew` writes it anew, so
that the older key can be dropped.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings

from followup.domain.terms import FollowUpError
from followup.models import Channel


class CannotBeRead(FollowUpError):
    """The key under which these settings were kept is not here."""

    def __init__(self) -> None:
        """One sentence for whoever looks at the channel."""
        super().__init__("its settings were kept under another SECRET_KEY: fill them in anew")


def encrypt(url: str) -> str:
    """A channel's address as it is kept in the database."""
    return _box().encrypt(url.encode()).decode()


def decrypt(kept: str) -> str:
    """The address. Raises CannotBeRead."""
    try:
        return _box().decrypt(kept.encode()).decode()
    except InvalidToken:
        raise CannotBeRead from None


def renew(channels: Iterable[Channel]) -> tuple[int, int]:
    """Keep each under the newest key; how many were written anew, and how many no key here can read."""
    done = lost = 0
    for channel in channels:
        try:
            anew = encrypt(decrypt(channel.secret_url))
        except CannotBeRead:
            lost += 1
            continue
        # Whoever saved other settings meanwhile has used the newest key.
        done += Channel.objects.filter(pk=channel.pk, secret_url=channel.secret_url).update(secret_url=anew)
    return done, lost


def _box() -> MultiFernet:
    return MultiFernet([_of(key) for key in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def _of(secret: str) -> Fernet:
    """A secret is long and random (Django refuses a short one), so one hash with its purpose in front makes a key."""
    digest = hashlib.sha256(b"channel-settings:" + secret.encode()).digest()
    return Fernet(base64.urlsafe_b64encode(digest))
