"""Owners' links: unguessable, and not to be made from the database alone.

The code is the row's random value and a MAC of it under a numbered key that lives outside the database (128 bits and
more). A leaked database opens no page; a new row value closes the old link.
"""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import hmac
import secrets

from django.conf import settings

from clinic.models import Owner, Practice
from followup.domain.terms import FollowUpError
from followup.models import Recipient

NONCE_BYTES = 12
MAC_BYTES = 18
"""144 bits, above the 128 that a link must have."""
NONCE_LENGTH = 16
"""Characters that NONCE_BYTES make in base 64."""
EXAMPLE = "an-example-that-opens-nobodys-page-0000-"
"""As long as a code, and nobody's."""


class LinkKeyMissing(FollowUpError):
    """The key that this link was made with is not configured here."""


def recipient_for(
    practice: Practice, person: Owner, *, part: Recipient.Part = Recipient.Part.OWNER, now: dt.datetime
) -> Recipient:
    """The person's one link at this practice, made when there is none yet."""
    found, _ = Recipient.objects.get_or_create(
        practice=practice,
        person=person,
        defaults={
            "part": part,
            "nonce": secrets.token_urlsafe(NONCE_BYTES),
            "key_number": max(settings.LINK_KEYS),
            "made_at": now,
        },
    )
    return found


def path_of(recipient: Recipient) -> str:
    """The path of the owner's page, ending in a slash."""
    return f"/o/{recipient.practice.slug}/{recipient.nonce}{_mac(recipient)}/"


def url_of(recipient: Recipient) -> str:
    """The whole address, as it goes into a message."""
    return f"{settings.PUBLIC_URL}{path_of(recipient)}"


def example_url(practice: Practice) -> str:
    """An address as long as an owner's, which shows whom to phone and nothing else."""
    return f"{settings.PUBLIC_URL}/o/{practice.slug}/{EXAMPLE}/"


def find(practice_slug: str, code: str) -> Recipient | None:
    """The recipient whose link this is; None for a wrong or closed one."""
    row = (
        Recipient.objects.select_related("practice", "person")
        .filter(practice__slug=practice_slug, nonce=code[:NONCE_LENGTH])
        .first()
    )
    if row is None or row.key_number not in settings.LINK_KEYS:
        return None
    return row if hmac.compare_digest(code[NONCE_LENGTH:].encode(), _mac(row).encode()) else None


def _mac(recipient: Recipient) -> str:
    key = settings.LINK_KEYS.get(recipient.key_number)
    if key is None:
        raise LinkKeyMissing(f"The link key numbered {recipient.key_number} is not configured.")
    message = f"owner-link:{recipient.practice_id}:{recipient.nonce}".encode()
    digest = hmac.new(key.encode(), message, hashlib.sha256).digest()[:MAC_BYTES]
    return base64.urlsafe_b64encode(digest).decode()
