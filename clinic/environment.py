"""Read the environment for settings.py: typed, with safe defaults, and refused in a sentence.

No clock, no database, no Django set up: settings.py is read before any of those.
"""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured

LINK_KEY_LENGTH = 32
"""Characters. At six bits each, 192 bits: above the 128 that a link must have."""
SQLITE_OPTIONS = {
    "timeout": 20,  # seconds to wait for another writer
    "transaction_mode": "IMMEDIATE",  # a lock upgrade would fail at once, whatever the timeout
    "init_command": (
        "PRAGMA journal_mode=WAL;"
        "PRAGMA synchronous=FULL;"  # an answer we thanked the owner for survives a power cut
        "PRAGMA foreign_keys=ON;"
    ),
}


def database(url: str) -> dict[str, Any]:
    """Django's description of the database at `url`, with the options that keep writers safe."""
    parsed: dict[str, Any] = environ.Env.db_url_config(url)
    if parsed["ENGINE"].endswith("sqlite3"):
        parsed["OPTIONS"] = {**SQLITE_OPTIONS, **parsed.get("OPTIONS", {})}
    else:
        parsed.setdefault("CONN_MAX_AGE", 60)
        parsed["CONN_HEALTH_CHECKS"] = True
    return parsed


def host_of(url: str) -> str:
    """The host of an address such as https://practice.example.org, without its port."""
    parts = urlsplit(url)
    if parts.scheme not in {"http", "https"} or not parts.hostname:
        raise ImproperlyConfigured(
            f"PUBLIC_URL must be a whole address such as https://practice.example.org, not “{url}”."
        )
    return parts.hostname


@dataclass(frozen=True)
class Keys:
    """What signs sessions and owners' links.

    `kept` is false while they live in memory only: good enough for `check`, `plan` and `triage`,
    which sign nothing; `serve` writes them down before it starts.
    """

    secret: str
    link: dict[int, str]
    kept: bool

    @property
    def newest_link(self) -> int:
        """The number of the key that signs new links; older numbers still open older links."""
        return max(self.link)


def numbered(text: str) -> dict[int, str]:
    """Numbered keys, such as "1:abc… 2:def…", separated by spaces, commas or lines."""
    try:
        pairs = [part.split(":", 1) for part in text.replace(",", " ").split()]
        keys = {int(number): key for number, key in pairs}
    except ValueError:
        raise ImproperlyConfigured(
            "LINK_KEYS must be numbered keys, such as 1:longrandomtext 2:otherrandomtext."
        ) from None
    if not keys or min(len(key) for key in keys.values()) < LINK_KEY_LENGTH:
        raise ImproperlyConfigured(f"LINK_KEYS must be {LINK_KEY_LENGTH} characters or more each.")
    return keys


def read_keys(folder: Path, *, secret: str, link: str) -> Keys:
    """The keys: from the environment (`secret`, `link`), else from `folder`, else new ones."""
    secret = secret or _stored(folder / "secret-key")
    link = link or _stored(folder / "link-keys")
    return Keys(
        secret=secret or secrets.token_urlsafe(64),
        link=numbered(link or f"1:{secrets.token_urlsafe(48)}"),
        kept=bool(secret and link),
    )


def keep_keys(folder: Path, keys: Keys, *, secret_given: bool, link_given: bool) -> None:
    """Write down what was not given by the environment, readable by this user alone.

    Files that are there already stay as they are.
    """
    link = "\n".join(f"{number}:{key}" for number, key in sorted(keys.link.items()))
    if not secret_given:
        _store(folder / "secret-key", keys.secret)
    if not link_given:
        _store(folder / "link-keys", link)


def _stored(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except FileNotFoundError:
        return ""
    except OSError as fault:
        raise ImproperlyConfigured(f"{path} cannot be read: {fault.strerror}.") from None


def _store(path: Path, text: str) -> None:
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text + "\n")
