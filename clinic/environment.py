"""Read the environment for settings.py: typed, with safe defaults, and refused in a sentence.

No clock, no database, no Django set up: settings.py is read before any of those.
"""

from __future__ import annotations

import math
import os
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured

YES, NO = frozenset({"yes", "true", "on", "1"}), frozenset({"", "no", "false", "off", "0"})
IN_MEMORY = "memory://localhost/"
"""The queue inside one process."""
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


POSTGRES_OPTIONS = {"connect_timeout": 5}  # seconds


@dataclass(frozen=True)
class Named:
    """One setting as it is asked for. `secret`: it never belongs in a log, a page or a file that others read."""

    name: str
    default: object
    secret: bool


class Reader:
    """Typed settings by name. Remembers which were asked for, so that the guide can be compared with them."""

    def __init__(self, given: Mapping[str, str]) -> None:
        """`given` is the environment; a value that is empty counts as not given."""
        self._given = given
        self.known: dict[str, Named] = {}

    def text(self, name: str, default: str = "", *, secret: bool = False) -> str:
        """Any text."""
        self.known[name] = Named(name, default, secret)
        return self._given.get(name, "").strip() or default

    def flag(self, name: str) -> bool:
        """Yes or no; no unless it is given."""
        said = self.text(name).lower()
        self.known[name] = Named(name, default=False, secret=False)
        if said not in YES | NO:
            raise ImproperlyConfigured(f"{name} must be yes or no, not “{said}”.")
        return said in YES

    def number(self, name: str, default: int, *, least: int = 0) -> int:
        """A whole number, `least` or more."""
        said = self.text(name)
        self.known[name] = Named(name, default, secret=False)
        if said and not (said.isdecimal() and int(said) >= least):
            raise ImproperlyConfigured(f"{name} must be a whole number from {least} on, not “{said}”.")
        return int(said) if said else default

    def seconds(self, name: str, default: float, *, least: float) -> float:
        """A length of time in seconds, `least` or more."""
        said = self.text(name)
        self.known[name] = Named(name, default, secret=False)
        try:
            found = float(said) if said else default
        except ValueError:
            found = math.nan
        if not least <= found < math.inf:
            raise ImproperlyConfigured(f"{name} must be {least:g} seconds or more, not “{said}”.")
        return found

    def names(self, name: str, default: Sequence[str]) -> list[str]:
        """Names with commas between them."""
        said = self.text(name)
        self.known[name] = Named(name, list(default), secret=False)
        return [each.strip() for each in said.split(",") if each.strip()] or list(default)

    def given(self, name: str) -> bool:
        """Whether the environment says anything of it."""
        return bool(self._given.get(name, "").strip())


def database(url: str) -> dict[str, Any]:
    """Django's description of the database at `url`, with the options that keep writers safe."""
    if urlsplit(url).scheme not in {"sqlite", "postgres", "postgresql"}:
        raise ImproperlyConfigured(
            "DATABASE_URL must begin with postgres:// or sqlite:// (its text is not shown: it may hold a password)."
        )
    parsed: dict[str, Any] = environ.Env.db_url_config(url)
    if parsed["ENGINE"].endswith("sqlite3"):
        parsed["OPTIONS"] = {**SQLITE_OPTIONS, **parsed.get("OPTIONS", {})}
    else:
        parsed.setdefault("CONN_MAX_AGE", 60)
        parsed["CONN_HEALTH_CHECKS"] = True  # a database that was restarted costs no request
        parsed["OPTIONS"] = {**POSTGRES_OPTIONS, **parsed.get("OPTIONS", {})}
    return parsed


def broker(url: str) -> str:
    """The queue of many processes at `url`, or the one of a single process where there is none."""
    if url and urlsplit(url).scheme not in {"redis", "rediss", "unix"}:
        raise ImproperlyConfigured("REDIS_URL must begin with redis:// or rediss:// (its text is not shown).")
    return url or IN_MEMORY


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
