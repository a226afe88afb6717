"""What stands in deploy/: one truth about each process, nobody root, nothing secret, everything looked after."""

from __future__ import annotations

import logging
import re
import subprocess
import sys
import time
from typing import Any
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from django.conf import settings
from gunicorn.config import Config

from tests.command import ROOT, python, surroundings
from tests.deployed import (
    ANY_ADDRESS,
    COMPOSE,
    DEPLOY,
    OURS,
    SERVICES,
    build_image,
    build_steps,
    command_of,
    command_of_unit,
    health_check_of,
    unit,
)
from tests.real.finding import free_port

LONG_RUNNING = [name for name, each in SERVICES.items() if each.get("restart") != "no"]
ONLY_COMPOSE = {"POSTGRES_PASSWORD"}


@pytest.mark.parametrize("name", OURS)
def test_containers_and_units_run_the_same_command(name):
    assert command_of_unit(name) == command_of(name, address="127.0.0.1:8000")


@pytest.mark.parametrize("name", SERVICES)
def test_no_container_is_root_or_may_become_it(name):
    service = SERVICES[name]
    assert re.fullmatch(r"[1-9]\d+:[1-9]\d+", service["user"])
    assert (service["read_only"], service["cap_drop"]) == (True, ["ALL"])
    assert service["security_opt"] == ["no-new-privileges:true"]


@pytest.mark.parametrize("name", [*OURS, "health"])
def test_no_unit_is_root_or_may_become_it(name):
    service = unit(name)["Service"]
    assert (service["User"], service["NoNewPrivileges"], service["ProtectSystem"]) == ("followup", "yes", "strict")


def test_each_long_running_container_is_looked_after():
    assert {"web", "worker", "beat", "dispatch", "postgres", "redis"} == set(LONG_RUNNING)
    assert [name for name in LONG_RUNNING if "healthcheck" not in SERVICES[name]] == []


def test_one_volume_holds_all_that_is_kept():
    assert list(COMPOSE["volumes"]) == ["data"]
    kept = {name for name in SERVICES if SERVICES[name].get("volumes")}
    assert kept == {*SERVICES} - {"redis"}  # its queue is made anew by the next tick


def test_nothing_waits_for_what_is_not_there():
    waits = {(name, other) for name, each in SERVICES.items() for other in each.get("depends_on", ())}
    assert {other for _, other in waits} <= set(SERVICES)


def test_only_the_pages_are_reachable_and_only_from_the_proxy():
    assert {name: each["ports"] for name, each in SERVICES.items() if "ports" in each} == {
        "web": ["127.0.0.1:8000:8000"]
    }


def test_no_file_holds_a_secret():
    given = dict(re.findall(r"^(?:# )?([A-Z_]+)=(.*)$", (DEPLOY / ".env.example").read_text(), re.M))
    secrets = {name for name, each in settings.SETTINGS_READ.items() if each.secret} | ONLY_COMPOSE
    filled = {name for name in secrets if given.get(name)}
    assert filled <= {"DATABASE_URL", "REDIS_URL"}  # shown with the word PASSWORD
    assert "PASSWORD@" in given["DATABASE_URL"]


def test_the_example_names_every_setting_and_no_other():
    named = set(re.findall(r"^(?:# )?([A-Z_]+)=", (DEPLOY / ".env.example").read_text(), re.M))
    assert named == set(settings.SETTINGS_READ) | ONLY_COMPOSE


def test_no_log_of_addresses_is_kept():
    config: dict[str, Any] = {}
    exec((DEPLOY / "gunicorn.conf.py").read_text(), config)  # noqa: S102 - as gunicorn reads it
    assert config["accesslog"] is None
    assert "--access-logfile" not in command_of("web")


def test_the_image_is_built_and_holds_what_the_commands_need(tmp_path):
    image = tmp_path / "image"
    build_image(image)
    steps = [step for step in build_steps() if step[0] == "python" and step[1:3] != ["-m", "pip"]]
    assert len(steps) == 2

    surely = [*steps, command_of("prepare"), ["python", "manage.py", "check"], ["python", "-c", "import clinic.wsgi"]]
    environment = surroundings(tmp_path / "data", STATIC_COLLECTED="yes", DJANGO_SETTINGS_MODULE="clinic.settings")
    for step in surely:
        done = subprocess.run(
            [sys.executable, *step[1:]],
            cwd=image, env=environment, capture_output=True, text=True, check=False, timeout=60,
        )  # fmt: skip
        assert done.returncode == 0, f"{step}: {done.stderr}"


def test_the_image_runs_as_the_compose_file_says():
    lines = (DEPLOY / "Containerfile").read_text().splitlines()
    assert [line for line in lines if line.startswith("USER ")] == ["USER " + SERVICES["web"]["user"]]
    assert ANY_ADDRESS in " ".join(command_of("web"))
    assert any(step[0] == "install" and "10001" in step for step in build_steps())  # the volume begins as its user's


def test_nothing_is_built_in_that_may_be_secret():
    lines = (ROOT / ".dockerignore").read_text().split()
    assert lines[0] == "*", "only what is named goes in"
    assert [line for line in lines if line.startswith("!") and ("data" in line or "env" in line)] == []


@pytest.mark.parametrize("name", ["worker", "beat", "dispatch"])
def test_what_sends_is_looked_after_by_health(name):
    assert health_check_of(name) == command_of_unit("health")


def test_the_pages_are_looked_after_by_an_answer(tmp_path):
    """Any answer will do; silence will not."""
    address = f"127.0.0.1:{free_port()}"
    check = [part.replace("8000", address.rsplit(":", 1)[1]) for part in health_check_of("web")][1:]
    keys = {"SECRET_KEY": "s" * 60, "LINK_KEYS": f"1:{'k' * 48}"}
    assert python(*check, folder=tmp_path).returncode == 1

    web = subprocess.Popen(
        [sys.executable, "-m", *command_of("web", address=address)],
        cwd=ROOT, env=surroundings(tmp_path, **keys), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        end = time.monotonic() + 60
        while (answered := python(*check, folder=tmp_path).returncode) and time.monotonic() < end:
            time.sleep(0.2)
        with pytest.raises(
            HTTPError
        ) as broken:  # no tables: the owner's page breaks, and gunicorn or Django says where
            urlopen(f"http://{address}/o/willow-lane/a-code-that-nobody-may-read/", timeout=20)
    finally:
        web.terminate()
        said = web.communicate(timeout=40)[1]
    broken.value.close()
    assert answered == 0, said
    assert broken.value.code == 500
    assert "/o/willow-lane/…/" in said
    assert "a-code-that-nobody-may-read" not in said


def test_gunicorn_complains_without_codes():
    """A request that breaks in gunicorn itself is logged by gunicorn, with its address."""
    config: dict[str, Any] = {}
    exec((DEPLOY / "gunicorn.conf.py").read_text(), config)  # noqa: S102 - as gunicorn reads it
    logger = config["logger_class"](Config())

    lines = [
        handler.format(a_record("Error handling request %s", "/a/a-code/")) for handler in logger.error_log.handlers
    ]

    assert [line.rsplit("] ", 1)[1] for line in lines] == ["Error handling request /a/…/"]


def a_record(words: str, *values: str) -> logging.LogRecord:
    return logging.LogRecord("gunicorn.error", logging.ERROR, __file__, 1, words, values, None)


def test_every_unit_is_wanted_by_the_target():
    target = (DEPLOY / "systemd" / "followup.target").read_text()
    wanted = set(re.search(r"^Wants=(.*)$", target, re.M)[1].split())  # type: ignore[index]
    assert wanted == {f"followup-{name}.service" for name in LONG_RUNNING if name in OURS} | {"followup-health.timer"}


@pytest.mark.parametrize("name", OURS)
def test_every_unit_keeps_what_it_writes_to_itself(name):
    service = unit(name)["Service"]
    assert service["StateDirectory"] == "followup"
    assert "DATA_DIR=/var/lib/followup" in service["Environment"].split()
    assert (service["StateDirectoryMode"], service["UMask"]) == ("0700", "0077")
    assert service["EnvironmentFile"] == "/etc/followup.env"
