"""Set-ups that would lose or show something, refused at start, each in a sentence."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register

from clinic.environment import IN_MEMORY
from clinic.starting import SET_UP

SQLITE_NEEDED = (3, 35, 0)
"""UPDATE ... RETURNING came with 3.35 (SQLite release notes, 2021-03-12)."""
OWN_HOSTS = frozenset({"localhost", "127.0.0.1", "[::1]", "::1", "testserver"})
"""Hosts that only this machine can reach."""
MOUNTS = Path("/proc/self/mountinfo")
"""What is mounted where (proc(5)); a system that has no such file is believed."""
NETWORK_DRIVES = frozenset(
    {
        "nfs",
        "nfs4",
        "cifs",
        "smb3",
        "smbfs",
        "ncpfs",
        "afs",
        "ceph",
        "glusterfs",
        "fuse.glusterfs",
        "fuse.sshfs",
        "fuse.rclone",
        "davfs",
        "fuse.davfs2",
        "9p",
        "virtiofs",
    }
)
"""Kinds of file system with another machine behind. SQLite's write-ahead log works on none (sqlite.org/wal.html)."""


@register(SET_UP)
def sqlite_is_new_enough(**_: Any) -> Sequence[CheckMessage]:
    """SQLite must be 3.35 or newer, where SQLite is used."""
    engine = settings.DATABASES["default"]["ENGINE"]
    return sqlite_faults(engine, sqlite3.sqlite_version_info)


def sqlite_faults(engine: str, version: tuple[int, ...]) -> Sequence[CheckMessage]:
    """What is wrong with SQLite `version` under `engine`."""
    if not engine.endswith("sqlite3") or version >= SQLITE_NEEDED:
        return []
    found = ".".join(map(str, version))
    return [
        Error(
            f"SQLite {found} is too old: 3.35 or newer is needed.",
            hint="Use a newer Python, or PostgreSQL through DATABASE_URL.",
            id="clinic.E001",
        )
    ]


@register(SET_UP)
def sqlite_is_on_this_machine(**_: Any) -> Sequence[CheckMessage]:
    """SQLite's locks and its write-ahead log need a disk of this machine."""
    database = settings.DATABASES["default"]
    if not database["ENGINE"].endswith("sqlite3") or not MOUNTS.exists():
        return []
    return network_faults(Path(database["NAME"]).resolve(), MOUNTS.read_text(encoding="utf-8", errors="replace"))


def network_faults(file: Path, mountinfo: str) -> Sequence[CheckMessage]:
    """What is wrong with keeping `file` where it is, by the lines of /proc/self/mountinfo (proc(5))."""
    kind = _kind_of_mount(file, mountinfo)
    if kind not in NETWORK_DRIVES:
        return []
    return [
        Error(
            f"The database {file} lies on a network drive ({kind}): two machines could break it.",
            hint="Set DATA_DIR to a folder on this machine's own disk, or use PostgreSQL through DATABASE_URL.",
            id="clinic.E005",
        )
    ]


def _kind_of_mount(file: Path, mountinfo: str) -> str:
    """The kind of file system under `file`: that of the longest mount point above it, the newest of equals."""
    best, kind = -1, ""
    for line in mountinfo.splitlines():
        left, _, right = line.partition(" - ")
        fields = left.split(" ")
        point = Path(re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), fields[4]))
        if right and file.is_relative_to(point) and len(point.parts) >= best:
            best, kind = len(point.parts), right.split(" ")[0]
    return kind


@register(SET_UP)
def one_process_in_memory(**_: Any) -> Sequence[CheckMessage]:
    """The in-memory broker reaches only its own process: what others queue would be lost."""
    if settings.WEB_CONCURRENCY <= 1 or settings.CELERY_BROKER_URL != IN_MEMORY:
        return []
    return [
        Error(
            f"{settings.WEB_CONCURRENCY} web processes cannot share an in-memory queue.",
            hint="Set REDIS_URL, or WEB_CONCURRENCY=1.",
            id="clinic.E002",
        )
    ]


@register(Tags.security)
def no_debug_in_public(**_: Any) -> Sequence[CheckMessage]:
    """Debug pages print settings and owners' data to whoever provokes an error."""
    others = sorted(set(settings.ALLOWED_HOSTS) - OWN_HOSTS)
    if not settings.DEBUG or not others:
        return []
    return [
        Error(
            f"DEBUG is on while others can reach this site as {', '.join(others)}.",
            hint="Unset DEBUG.",
            id="clinic.E003",
        )
    ]


@register(Tags.security)
def no_tests_in_public(**_: Any) -> Sequence[CheckMessage]:
    """For tests passwords are cheap to guess, and whoever writes one row moves the clock."""
    others = sorted(set(settings.ALLOWED_HOSTS) - OWN_HOSTS)
    if not settings.TESTING or not others:
        return []
    return [
        Error(
            f"TESTING is on while others can reach this site as {', '.join(others)}.",
            hint="Unset TESTING.",
            id="clinic.E006",
        )
    ]


@register(Tags.security, deploy=True)
def keys_are_kept(**_: Any) -> Sequence[CheckMessage]:
    """Keys that live in memory only would end every session and link at the next start."""
    if settings.KEYS.kept:
        return []
    return [
        Error(
            "No keys are kept: logins and owners' links would end at the next start.",
            hint="Run `manage.py prepare` once, or set SECRET_KEY and LINK_KEYS.",
            id="clinic.E004",
        )
    ]
