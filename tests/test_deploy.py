"""What stands in deploy/: one truth about each process, nobody root, nothing secret, everything looked after."""

from __future__ import annotations

import re

import pytest
from django.conf import settings

from tests.command import ROOT
from tests.deployed import ANY_ADDRESS, COMPOSE, DEPLOY, OURS, SERVICES, command_of, command_of_unit, unit

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


@pytest.mark.parametrize("name", OURS)
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
    config: dict[str, object] = {}
    exec((DEPLOY / "gunicorn.conf.py").read_text(), config)  # noqa: S102 - as gunicorn reads it
    assert config["accesslog"] is None
    assert "--access-logfile" not in command_of("web")


def test_the_image_holds_what_the_commands_need():
    lines = (DEPLOY / "Containerfile").read_text().splitlines()
    copied = {line.split()[1] for line in lines if line.startswith("COPY ")}
    assert {"requirements.txt", "clinic", "followup", "deploy/gunicorn.conf.py", "manage.py"} <= copied
    assert [name for name in copied if not (ROOT / name).exists()] == []
    assert [line for line in lines if line.startswith("USER ")] == ["USER 10001:10001"]
    assert ANY_ADDRESS in " ".join(command_of("web"))
