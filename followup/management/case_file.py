"""Reading a case file from the command line: from a path, or from standard input."""

from __future__ import annotations

import sys
from pathlib import Path

from django.core.management.base import CommandError

from followup.casefile import BadCase, CaseFile, read_text
from followup.domain.protocol import Protocol
from followup.domain.terms import FollowUpError
from followup.protocols.load import available

UNREADABLE = 2
"""The exit code of a case that cannot be read or contradicts itself."""


def unreadable(why: object) -> CommandError:
    """The end of a command whose case cannot be used."""
    return CommandError(str(why), returncode=UNREADABLE)


def read(source: str) -> CaseFile:
    """The case at the path `source`; “-” is standard input. Raises CommandError with code 2."""
    try:
        text = sys.stdin.read() if source == "-" else Path(source).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise unreadable(f"{source} cannot be read: {getattr(fault, 'strerror', None) or fault}.") from None
    try:
        return read_text(text)
    except FollowUpError as refusal:
        raise unreadable(refusal) from None


def protocol_for(case: CaseFile) -> Protocol:
    """The protocol that ships for this species and operation. Raises CommandError with code 2."""
    wanted = (case.case.patient.species, case.case.procedure)
    found = next((each for each in available() if (each.species, each.procedure) == wanted), None)
    if found is None:
        species, procedure = (word.value.replace("_", " ") for word in wanted)
        raise unreadable(BadCase("$.procedure", f"no protocol is here for {procedure} of a {species}"))
    return found
