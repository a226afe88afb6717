"""The keys of this installation: what signs sessions, and owners' links. Read before Django is set up."""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

LINK_KEY_LENGTH = 32
"""Characters. At six bits each, 192 bits: above the 128 that a link must have."""


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


def keep_keys(folder: Path, keys: Keys, *, secret_given: bool, link_given: bool) -> Keys:
    """Write down what was not given by the environment, readable by this user alone; the keys that hold from now on.

    A key that is there already stays as it is: another process may have been first.
    """
    link = "\n".join(f"{number}:{key}" for number, key in sorted(keys.link.items()))
    if not secret_given:
        _store(folder / "secret-key", keys.secret)
    if not link_given:
        _store(folder / "link-keys", link)
    return Keys(
        secret=keys.secret if secret_given else _stored(folder / "secret-key"),
        link=keys.link if link_given else numbered(_stored(folder / "link-keys")),
        kept=True,
    )


def _stored(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except FileNotFoundError:
        return ""
    except OSError as fault:
        raise ImproperlyConfigured(f"{path} cannot be read: {fault.strerror}.") from None


def _store(path: Path, text: str) -> None:
    """Wholly or not at all: half a key, or an empty file after a power cut, would end every link."""
    if _stored(path):
        return
    unfinished = path.with_name(f".{path.name}.{os.getpid()}")
    with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
        file.write(text + "\n")
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(path)
