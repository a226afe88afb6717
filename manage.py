#!/usr/bin/env python
"""The one door for commands: `manage.py serve`, `manage.py check` and the rest."""

import os
import sys


def main() -> None:
    """Run the command that was asked for; `--demo` chooses the demo's settings and data folder."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    if "--demo" in sys.argv:
        os.environ["DEMO"] = "yes"

    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as refusal:
        sys.exit(str(refusal))  # a sentence for whoever set it up, and no traceback


if __name__ == "__main__":
    main()
