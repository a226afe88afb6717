"""What is installed is pinned by hash, and says nothing of where it came from."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LOCKS = ["requirements.txt", "requirements-test.txt", "requirements-dev.txt"]


def wanted(lock: str) -> set[str]:
    lines = (ROOT / lock.replace(".txt", ".in")).read_text().splitlines()
    names = (re.match(r"[A-Za-z0-9._-]+", line) for line in lines if not line.startswith(("-", "#")))
    return {plain(name.group()) for name in names if name}


def pinned(lock: str) -> set[str]:
    return {plain(name) for name in re.findall(r"^([A-Za-z0-9._-]+)==", (ROOT / lock).read_text(), re.M)}


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


@pytest.mark.parametrize("lock", LOCKS)
def test_all_that_is_wanted_is_pinned(lock):
    assert wanted(lock) - pinned(lock) == set()


@pytest.mark.parametrize("lock", LOCKS)
def test_every_pin_has_a_hash(lock):
    pins = re.split(r"^(?=[A-Za-z0-9])", (ROOT / lock).read_text(), flags=re.M)[1:]
    assert [pin.splitlines()[0] for pin in pins if "--hash=sha256:" not in pin] == []


@pytest.mark.parametrize("lock", [*LOCKS, *(name.replace(".txt", ".in") for name in LOCKS)])
def test_no_lock_names_a_host(lock):
    text = (ROOT / lock).read_text()
    assert [word for word in ("://", "--index", "--extra", "--find-links", "--trusted") if word in text] == []


@pytest.mark.parametrize("lock", LOCKS[1:])
def test_what_two_locks_pin_is_pinned_alike(lock):
    versions = dict(re.findall(r"^([A-Za-z0-9._-]+)==(\S+)", (ROOT / LOCKS[0]).read_text(), re.M))
    here = dict(re.findall(r"^([A-Za-z0-9._-]+)==(\S+)", (ROOT / lock).read_text(), re.M))
    assert {name: here[name] for name in here.keys() & versions.keys() if here[name] != versions[name]} == {}
