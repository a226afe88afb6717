"""What deploy/ says: the commands of the Compose file and of the systemd units."""

from __future__ import annotations

import shlex
from configparser import ConfigParser
from typing import Any

import yaml

from tests.command import ROOT

DEPLOY = ROOT / "deploy"
COMPOSE: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
OURS = ("prepare", "web", "worker", "beat", "dispatch")
ANY_ADDRESS = "0.0.0.0:8000"


def command_of(service: str, *, address: str = ANY_ADDRESS) -> list[str]:
    """The command of a service of the Compose file; `address` is where the web answers."""
    return [part.replace(ANY_ADDRESS, address) for part in SERVICES[service]["command"]]


def unit(name: str) -> ConfigParser:
    """One systemd unit, as its own parser reads it: a name may be given once."""
    parser = ConfigParser(interpolation=None, strict=True)
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read(DEPLOY / "systemd" / f"followup-{name}.service", encoding="utf-8")
    return parser


def command_of_unit(name: str) -> list[str]:
    """Its ExecStart, without the folder of the program."""
    first, *rest = shlex.split(unit(name)["Service"]["ExecStart"])
    return [first.rsplit("/", 1)[1], *rest]
