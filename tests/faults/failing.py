"""A command of the program that fails at one point: `python -m tests.faults.failing POINT serve --port 8000`.

The program itself knows nothing of such points; they are put in before its command begins.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from typing import Any, NoReturn

import django
from django.core.management import execute_from_command_line


def dies_before_triage() -> None:
    """The power goes when an answer has been stored and nothing has looked at it."""
    from followup.services import reply  # noqa: PLC0415 - Django must learn of its settings first

    def die(*_: Any, **__: Any) -> NoReturn:
        os._exit(1)

    vars(reply).update(understand=die, is_red=die)


def triage_raises() -> None:
    """Every patient meets a bug in the rules."""
    from followup.services import assess  # noqa: PLC0415 - as above

    def fail(*_: Any, **__: Any) -> NoReturn:
        raise ZeroDivisionError("a bug in the rules")

    vars(assess).update(triage=fail)


POINTS: Mapping[str, Callable[[], None]] = {each.__name__: each for each in (dies_before_triage, triage_raises)}

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    django.setup()
    POINTS[sys.argv[1]]()
    execute_from_command_line(["manage.py", *sys.argv[2:]])
