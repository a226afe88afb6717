"""`manage.py triage CASE.json`: how urgent one case is at its `now`, and why. No database, key or network is asked."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from followup.casefile import CaseFile, moment_to_judge, refuse_contradictions, verdict_json
from followup.domain.plan import compile_plan
from followup.domain.protocol import Protocol
from followup.domain.recovery import Recovery
from followup.domain.terms import FollowUpError
from followup.domain.triage import triage
from followup.domain.verdict import Verdict
from followup.management import case_file, verdict_table
from followup.protocols.load_formulary import formulary


class Command(BaseCommand):
    """Exit code 0: a verdict; 2: the case cannot be read or contradicts itself."""

    help = "Judge a case file. Decision support only: the treating vet and local rules decide."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Where the case is, and how to print the verdict."""
        parser.add_argument("case", metavar="CASE.json", help="a case file; - reads standard input")
        parser.add_argument("--explain", action="store_true", help="the reasoning for people instead of JSON")

    def handle(self, *, case: str, explain: bool, **_: Any) -> None:
        """Read, judge, print."""
        found = case_file.read(case)
        protocol = case_file.protocol_for(found)
        try:
            verdict = judge(found, protocol)
        except FollowUpError as refusal:
            raise case_file.unreadable(refusal) from None
        if explain:
            self.stdout.write(verdict_table.table(found.case, verdict))
        else:
            self.stdout.write(json.dumps(verdict_json(verdict, found.case.hours.zone), indent=2, ensure_ascii=False))


def judge(found: CaseFile, protocol: Protocol) -> Verdict:
    """The verdict on a case file at its `now`. Raises BadCase."""
    now = moment_to_judge(found)
    compiled = compile_plan(found.case, protocol, formulary())
    refuse_contradictions(found, {medicine.drug for medicine in compiled.medication}, now)
    recovery = Recovery.of(
        case=found.case,
        rules=protocol.rules,
        pinned=protocol.pinned,
        check_ins=compiled.check_ins,
        medication=compiled.medication,
        observations=found.observations,
    )
    return triage(recovery, now)
