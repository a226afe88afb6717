"""`manage.py plan CASE.json`: the plan of one case, computed and printed. No database, key or network is asked."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from followup.casefile import plan_json
from followup.domain.plan import compile_plan
from followup.domain.terms import FollowUpError
from followup.management import case_file, plan_table
from followup.protocols.load_formulary import formulary

REFUSED = 1
"""The exit code of a plan that is printed, but in which something is refused."""


class Command(BaseCommand):
    """Exit code 0: a usable plan; 1: something in it is refused; 2: the case cannot be read."""

    help = "Compute the plan of a case file. Decision support only: the treating vet and local rules decide."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Where the case is, and how to print the plan."""
        parser.add_argument("case", metavar="CASE.json", help="a case file; - reads standard input")
        parser.add_argument("--sheet", action="store_true", help="a table for people instead of JSON")

    def handle(self, *, case: str, sheet: bool, **_: Any) -> None:
        """Read, compute, print."""
        found = case_file.read(case)
        protocol = case_file.protocol_for(found)
        try:
            compiled = compile_plan(found.case, protocol, formulary())
        except FollowUpError as refusal:
            raise case_file.unreadable(refusal) from None
        if sheet:
            self.stdout.write(plan_table.table(found.case, compiled, protocol.course))
        else:
            self.stdout.write(json.dumps(plan_json(compiled, found.case.hours.zone), indent=2, ensure_ascii=False))
        if compiled.refused():
            raise SystemExit(REFUSED)
