"""What deploy/ says: the commands of the Compose file and of the systemd units."""

from __future__ import annotations

import shlex
import shutil
from configparser import ConfigParser
from pathlib import Path
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


def health_check_of(service: str) -> list[str]:
    """The command by which the container is looked after."""
    how, *command = SERVICES[service]["healthcheck"]["test"]
    assert how == "CMD", "no shell in between"
    return list(command)


def build_steps() -> list[list[str]]:
    """What the Containerfile runs, a command each, when the image is built."""
    text = (DEPLOY / "Containerfile").read_text(encoding="utf-8").replace("\\\n", " ")
    runs = [line.removeprefix("RUN ") for line in text.splitlines() if line.startswith("RUN ")]
    return [shlex.split(step) for run in runs for step in run.split("&&")]


def build_image(folder: Path) -> None:
    """The program's files as the Containerfile copies them."""
    for line in (DEPLOY / "Containerfile").read_text(encoding="utf-8").splitlines():
        if not line.startswith("COPY "):
            continue
        *sources, target = line.split()[1:]
        for source in sources:
            _copy(
                ROOT / source, folder / target / Path(source).name if target.endswith(("/", ".")) else folder / target
            )


def _copy(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__", "*.mo"))
    else:
        shutil.copy(source, target)


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
