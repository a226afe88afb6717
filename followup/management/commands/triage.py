"""`manage.py triage CASE.json`: how urgent one case is at its `now`, and why. No database, key or network is asked.

`--stories DIR` judges a folder of stories instead, and says how often the program agrees with whoever wrote them.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from followup.casefile import verdict_json
from followup.domain.terms import FollowUpError
from followup.management import case_file, stories, verdict_table
from followup.management.judging import judge_and_explain


class Command(BaseCommand):
    """Exit code 0: a verdict; 2: the case cannot be read or contradicts itself."""

    help = "Judge a case file. Decision support only: the treating vet and local rules decide."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        """What to judge, and how to print it."""
        parser.add_argument("case", metavar="CASE.json", nargs="?", help="a case file; - reads standard input")
        parser.add_argument("--explain", action="store_true", help="the reasoning for people instead of JSON")
        parser.add_argument("--stories", metavar="DIR", help="judge every story in a folder and count agreements")

    def handle(self, *, case: str | None, explain: bool, stories: str | None, **_: Any) -> None:
        """Read, judge, print."""
        if (case is None) == (stories is None):
            raise CommandError("Name one case file, or a folder with --stories.", returncode=case_file.UNREADABLE)
        self.stdout.write(_of_stories(stories) if stories is not None else _of_case(str(case), explain=explain))


def _of_case(source: str, *, explain: bool) -> str:
    found = case_file.read(source)
    protocol = case_file.protocol_for(found)
    try:
        verdict, explanation = judge_and_explain(found, protocol)
    except FollowUpError as refusal:
        raise case_file.unreadable(refusal) from None
    if explain:
        return verdict_table.table(found.case, verdict, explanation)
    return json.dumps(verdict_json(verdict, found.case.hours.zone, explanation), indent=2, ensure_ascii=False)


def _of_stories(folder: str) -> str:
    return stories.report(Path(folder), stories.judged_in(Path(folder)))
