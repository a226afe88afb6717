"""What must be there before pages are served and messages sent; `manage.py prepare` and `serve` share it."""

from __future__ import annotations

import datetime as dt
import fcntl
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import polib
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import OperationalError, connection

from clinic import keys
from clinic.services.emergency_pages import write_emergency_pages

MIGRATING = 4_660_163
"""The number of our lock in PostgreSQL; any that nobody else uses."""


def prepare(folder: Path, *, wait: float = 0) -> None:
    """Folder, keys, translations, tables, static files. Twice, or by two at once, does no harm.

    `wait`: seconds in which a database that is still starting must answer.
    """
    make_folder(folder)
    with one_at_a_time(folder):
        keep_keys(folder)
        compile_translations(settings.LOCALE_PATHS)
        reach_database(wait)
        with one_migrates():
            call_command("migrate", verbosity=0, interactive=False)
        if settings.STATIC_COLLECTED:
            call_command("collectstatic", verbosity=0, interactive=False)


@contextmanager
def one_at_a_time(folder: Path) -> Iterator[None]:
    """Of two that prepare one data folder, the second waits for the first, or for its end."""
    with (folder / "prepare.lock").open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@contextmanager
def one_migrates() -> Iterator[None]:
    """Two machines over one PostgreSQL share no folder: there the database holds the second back."""
    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [MIGRATING])
        try:
            yield
        finally:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [MIGRATING])


def reach_database(wait: float) -> None:
    """Ask once a second until the database answers; one that is away after `wait` seconds is a sentence."""
    end = time.monotonic() + wait
    while True:
        try:
            return connection.ensure_connection()
        except OperationalError as fault:
            if time.monotonic() >= end:
                raise CommandError(f"The database does not answer: {str(fault).splitlines()[0]}.") from None
        time.sleep(1)


def make_folder(folder: Path) -> None:
    """Make the data folder, or close it to everybody else."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        for name in ("photos",):
            (folder / name).mkdir(mode=0o700, exist_ok=True)
    except OSError as fault:
        raise CommandError(
            f"The data folder {folder} cannot be used ({fault.strerror}): set DATA_DIR to another."
        ) from None


def keep_keys(folder: Path) -> None:
    """Write down the keys that this process uses, unless they are kept elsewhere; use those that are kept."""
    kept = keys.keep_keys(
        folder,
        settings.KEYS,
        secret_given=settings.SECRET_KEY_GIVEN,
        link_given=settings.LINK_KEYS_GIVEN,
    )
    settings.KEYS, settings.SECRET_KEY, settings.LINK_KEYS = kept, kept.secret, kept.link


def compile_translations(locales: Iterable[str | Path]) -> None:
    """Make each .mo file that is older than its .po file; gettext itself need not be installed."""
    for source in (po for locale in locales for po in Path(locale).glob("*/LC_MESSAGES/*.po")):
        compiled = source.with_suffix(".mo")
        if not compiled.exists() or compiled.stat().st_mtime < source.stat().st_mtime:
            _compile(source, compiled)


def _compile(source: Path, compiled: Path) -> None:
    try:
        polib.pofile(str(source)).save_as_mofile(str(compiled))
    except OSError as fault:
        raise CommandError(
            f"{compiled} cannot be written ({fault.strerror}): "
            "run `manage.py prepare --translations` as somebody who may write there."
        ) from None


def keep_emergency_pages(*, now: dt.datetime) -> None:
    """Write down who to phone at each practice, so that an owner reads it even when the database is gone."""
    try:
        write_emergency_pages(now=now)
    except OSError as fault:
        raise CommandError(
            f"Who to phone in an emergency could not be written into {settings.DATA_DIR} ({fault.strerror})."
        ) from None


def address(host: str, port: int) -> str:
    """What to open in a browser on this machine."""
    seen_from_here = {"0.0.0.0": "localhost", "127.0.0.1": "localhost", "::": "localhost"}  # noqa: S104
    return f"http://{seen_from_here.get(host, host)}:{port}"


def trusted_proxy(count: int) -> dict[str, Any]:
    """waitress's settings for `count` proxies of ours in front; with none, nobody is believed."""
    if not count:
        return {}
    return {
        "trusted_proxy": "*",
        "trusted_proxy_count": count,
        "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto", "x-forwarded-host"},
        "clear_untrusted_proxy_headers": True,
    }
