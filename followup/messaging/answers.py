"""What a service's answer means for a letter: its status, and what may stand inside an answer that says all is well."""

from __future__ import annotations

import json
import re
import socket
import ssl
from collections.abc import Iterator
from http import HTTPStatus

from followup.messaging.channel import Outcome, Sent

FAILED_WORDS = {"error", "err", "fail", "failed", "failure", "rejected", "undelivered", "undeliverable", "invalid"}
FAILED_CODE = re.compile(r"[45][0-9]{2}")
REASONS = {
    *("error", "errors", "error_code", "error_message", "message", "reason", "description", "detail", "title"),
    *("status", "state", "code", "status_code"),
}
MOST_PARTS = 20
DEEPEST = 4
"""Levels of an answer that are looked through: {"messages": [{"error": …}]} has two below the first."""
OF_THE_ACCOUNT = re.compile(
    r"credit|balance|funds|unauthori[sz]ed|authenticat|forbidden|api.?key|token|password|account|\b40[13]\b"
)
OF_THE_NUMBER = re.compile(
    r"number|recipient|phone|msisdn|destination|subscriber|unsubscribed|opted.?out|\bstop\b|block|blacklist|landline"
)
WHY: tuple[tuple[type[Exception], str], ...] = (
    (socket.gaierror, "nobody knows its name"),
    (TimeoutError, "it does not answer"),
    (ConnectionRefusedError, "nobody answers at its port"),
    (ssl.SSLError, "it does not speak TLS there"),
)
LONGEST_WAIT = 15 * 60.0
"""Seconds. Who asks us to wait longer is asked again all the same."""
SENT_ELSEWHERE = range(HTTPStatus.MULTIPLE_CHOICES, HTTPStatus.BAD_REQUEST)
LATER = {HTTPStatus.REQUEST_TIMEOUT, HTTPStatus.TOO_MANY_REQUESTS}
OF_ALL = {
    HTTPStatus.TOO_MANY_REQUESTS,
    HTTPStatus.BAD_GATEWAY,
    HTTPStatus.SERVICE_UNAVAILABLE,
    HTTPStatus.GATEWAY_TIMEOUT,
}
"""What concerns every message and not just this one."""


def no_connection(fault: Exception, who: str) -> Sent:
    """Nothing was handed in: the machine is not found, does not answer, or is not whom it says it is."""
    if isinstance(fault, ssl.SSLCertVerificationError):
        return Sent(Outcome.CONFIG, f"the certificate of {who} cannot be trusted", whole_channel=True)
    return Sent(Outcome.TRANSIENT, f"no connection to {who}: {_why(fault)}", whole_channel=True)


def by_status(status: int, who: str, *, retry_after: str = "") -> Sent:
    """What an HTTP status says, other than that it was taken (RFC 9110; 429 is RFC 6585)."""
    wait = _seconds(retry_after)
    if status in {HTTPStatus.UNAUTHORIZED, HTTPStatus.FORBIDDEN}:
        words = f"{who} refused our log-in ({status}): check the account and its key"
        return Sent(Outcome.CONFIG, words, whole_channel=True)
    if status in SENT_ELSEWHERE:
        return Sent(Outcome.CONFIG, f"{who} sends us elsewhere ({status}): check its address", whole_channel=True)
    if status in LATER or status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        words = f"{who} asks us to wait ({status})" if status in LATER else f"{who} is in trouble ({status})"
        return Sent(Outcome.TRANSIENT, words, whole_channel=status in OF_ALL, wait=wait)
    return Sent(Outcome.PERMANENT, f"{who} refused the message ({status}): check the number, and the address of {who}")


def inside(body: str, who: str) -> Sent | None:
    """What is wrong by the text of an answer with a good status; None: nothing. No word of it is repeated.

    An answer that is no JSON counts as well unless it begins like an error. What names the account is a wrong set-up,
    what names the number is for good, and anything else is for now.
    """
    try:
        answer = json.loads(body)
    except (ValueError, RecursionError):
        said = body.strip().lower() if body.strip().lower().startswith(("err", "fail", "invalid")) else ""
    else:
        said = " ".join(_complaints(answer, DEEPEST)).lower()
    if not said:
        return None
    words = f"{who} took the message and answered that it failed"
    if OF_THE_ACCOUNT.search(said):
        return Sent(Outcome.CONFIG, f"{words}: check the account and its key", whole_channel=True)
    if OF_THE_NUMBER.search(said):
        return Sent(Outcome.PERMANENT, f"{words}: check the number")
    return Sent(Outcome.TRANSIENT, words)


def _complaints(answer: object, levels: int) -> Iterator[str]:
    """What every part of an answer that says that it failed gives as its reason."""
    if isinstance(answer, dict):
        if any(_complains(str(name).lower(), value) for name, value in answer.items()):
            yield json.dumps([value for name, value in answer.items() if str(name).lower() in REASONS])
        answer = list(answer.values())
    if isinstance(answer, list) and levels:
        for each in answer[:MOST_PARTS]:
            yield from _complaints(each, levels - 1)


def _complains(name: str, value: object) -> bool:
    word = value.strip().lower() if isinstance(value, str) else value
    if name in {"error", "errors", "error_code", "error_message"}:
        return word not in (None, False, 0, "", "0", "none", "false", "no", "ok", [], {})
    if name in {"success", "ok"}:
        return word in (False, 0, "false", "0", "no")
    if name in {"status", "state", "code", "status_code"}:
        return _is_failure(word)
    return False


def _is_failure(word: object) -> bool:
    return word in FAILED_WORDS if isinstance(word, str) and word.isalpha() else bool(FAILED_CODE.fullmatch(str(word)))


def _why(fault: Exception) -> str:
    return next((words for kind, words in WHY if isinstance(fault, kind)), type(fault).__name__)


def _seconds(retry_after: str) -> float:
    """Retry-After in seconds; a date, or what cannot be read, is left."""
    return min(float(retry_after), LONGEST_WAIT) if retry_after.strip().isdecimal() else 0.0
