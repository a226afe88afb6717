"""`manage.py serve` as a person meets it: it starts by itself, is alone, and stops in order."""

from __future__ import annotations

import signal
import socket
import stat
import threading
import time
import urllib.request
from contextlib import contextmanager

import pytest
from celery import Celery

from clinic.celery import app as celery_app
from clinic.embedded import AlreadyServing, Embedded, Patience, only_one
from tests.command import manage, start


@contextmanager
def serving(folder, *arguments, **settings):
    """A server of its own over `folder`, and its address, until the end of the block."""
    process = start("serve", *arguments, folder=folder, **settings)
    assert process.stdout is not None
    watchdog = threading.Timer(60, process.kill)
    watchdog.start()
    said = []
    try:
        for line in process.stdout:
            said.append(line)
            if line.startswith("Serving at "):
                break
        else:
            pytest.fail("it never served: " + "".join(said))
        yield process, line.split()[2]
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()
        watchdog.cancel()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def get(address):
    """The page there, and its headers."""
    with urllib.request.urlopen(address, timeout=20) as answer:  # noqa: S310  our own server
        return answer.read().decode(), answer.headers


def test_it_makes_its_folder_serves_a_page_and_stops_in_order(tmp_path):
    folder = tmp_path / "data"
    with serving(folder, "--port", str(free_port())) as (process, address):
        _, headers = get(address + "/log-in/")
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert headers["Referrer-Policy"] == "same-origin"
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert stat.S_IMODE((folder / "secret-key").stat().st_mode) == 0o600
        assert stat.S_IMODE((folder / "link-keys").stat().st_mode) == 0o600
        assert (folder / "emergency").is_dir()  # who to phone at each practice; there is none yet
        process.send_signal(signal.SIGTERM)
        said, _ = process.communicate(timeout=40)

    assert (process.returncode, said.splitlines()[-1]) == (0, "Stopped.")


def test_its_own_worker_and_beat_share_the_queue_in_memory(tmp_path):
    """Apart from each other they are refused; here the ticks come."""
    with serving(tmp_path, "--port", str(free_port()), TICK_SECONDS="1"):
        end, well = time.monotonic() + 20, 1
        while well != 0 and time.monotonic() < end:
            well = manage("health", folder=tmp_path).returncode

    assert well == 0


def test_a_second_one_over_the_same_folder_is_refused(tmp_path):
    with serving(tmp_path, "--port", str(free_port())) as (process, _):
        second = manage("serve", folder=tmp_path)
        assert second.returncode == 1
        assert f"{tmp_path} is already being served (process {process.pid})." in second.stderr


def test_a_port_that_was_given_is_the_only_one_tried(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        result = manage("serve", "--port", str(port), folder=tmp_path)
    assert result.returncode == 1
    assert f"Cannot serve at 127.0.0.1:{port}: Address already in use." in result.stderr


def test_the_lock_is_for_one_and_opens_again(tmp_path):
    lock = tmp_path / "lock"
    with only_one(lock), pytest.raises(AlreadyServing), only_one(lock):
        pytest.fail("two held it")
    with only_one(tmp_path / "lock"):
        pass


def test_beat_is_missed_after_a_minute_without_a_tick():
    patience = Patience(seconds=60, began=0)

    assert not patience.lost(None, at=59)  # no tick yet, a second to go
    assert patience.lost(None, at=60)
    patience.restart(60)
    assert not patience.lost("07:40:15", at=75)  # the first tick came
    assert not patience.lost("07:40:15", at=134)
    assert patience.lost("07:40:15", at=135)  # 75 + 60
    assert not patience.lost("07:40:00", at=136)  # any change counts, even back in time


@pytest.fixture
def nudged():
    """A Celery application of its own, and an event that its tick sets."""
    done = threading.Event()
    app = Celery("nudge", broker="memory://localhost/")
    app.conf.update(
        task_ignore_result=True,
        broker_transport_options={"polling_interval": 0.05},
        worker_hijack_root_logger=False,
        beat_schedule={"tick": {"task": "tick", "schedule": 1.0}},
    )

    @app.task(name="tick", shared=False)
    def tick() -> None:
        done.set()

    yield app, done
    celery_app.set_default()


def test_worker_and_beat_tick_inside_the_process_and_end(nudged):
    app, done = nudged
    embedded = Embedded(app, threads=1, last_tick=None, late=60)
    embedded.start()
    try:
        assert done.wait(20)
    finally:
        embedded.stop()

    assert [t.name for t in embedded.threads.values() if t.is_alive()] == []


def test_a_beat_that_died_is_started_anew(nudged):
    app, done = nudged
    embedded = Embedded(app, threads=1, last_tick=None, late=60)
    embedded.start()
    try:
        assert done.wait(20)
        embedded.beat.stop(wait=True)
        done.clear()
        embedded.restart_beat()
        assert done.wait(20)
    finally:
        embedded.stop()
