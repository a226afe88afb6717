"""What Apprise says of one send, weighed. It keeps the reason in log lines only, so those are read and thrown away."""

from __future__ import annotations

import re
from collections.abc import Iterable

import apprise
from apprise.result import AppriseResultStatus as Status

from followup.messaging.answers import by_status
from followup.messaging.channel import Outcome, Sent

WHO = "the service"
STATUS = re.compile(r"error[= ]\(?(\d{3})\b")
"""How Apprise's services write down the status that they were answered with."""
BROKE = "Socket Exception: "
NEVER_CONNECTED = re.compile(
    r"NewConnectionError|ConnectTimeout|NameResolutionError|Connection refused|Failed to establish"
)
NOT_TRUSTED = re.compile(r"CERTIFICATE_VERIFY_FAILED|certificate verify failed")
NO_WORD = Sent(Outcome.UNKNOWN, "no word from the service")


def weigh(result: apprise.AppriseResult) -> Sent:
    """The outcome. An optional service that failed, a part that did not go, and a deadline that passed are not OK."""
    if result.status is Status.NOMATCH:
        return Sent(Outcome.CONFIG, "there is no service to send it through", whole_channel=True)
    attempts = [attempt for each in result for attempt in each.attempts]
    if attempts and all(attempts) and result.status is Status.SUCCESS:
        return Sent(Outcome.OK)
    if result.status in {Status.PARTIAL, Status.TIMEOUT} or any(each.status is Status.TIMEOUT for each in attempts):
        return NO_WORD
    return _by_lines(str(line.message) for attempt in attempts for line in attempt)


def _by_lines(lines: Iterable[str]) -> Sent:
    """The last line that says why decides."""
    found = Sent(Outcome.TRANSIENT, "the service said no")
    for line in lines:
        if BROKE in line:
            found = _by_fault(line.partition(BROKE)[2])
        elif status := STATUS.search(line):
            found = by_status(int(status[1]), WHO)
    return found


def _by_fault(fault: str) -> Sent:
    if NOT_TRUSTED.search(fault):
        return Sent(Outcome.CONFIG, "the certificate of the service cannot be trusted", whole_channel=True)
    if NEVER_CONNECTED.search(fault):
        return Sent(Outcome.TRANSIENT, "no connection to the service", whole_channel=True)
    return NO_WORD
