"""The letter that the ways beside ours hand in: by smtplib, over a connection of its own."""

from __future__ import annotations

import os
import smtplib
from email.message import EmailMessage
from urllib.parse import urlsplit

SUBJECT = "Number {0}"
BODY = "How is it going? http://localhost/o/elm-street/{0}/"
PATIENCE = 30.0
"""Seconds."""


def hand_in(number: int) -> None:
    """Send the letter with this number. A copy of it has the same Message-ID."""
    mail = EmailMessage()
    mail["From"] = "desk@example.org"
    mail["To"] = f"due{number}@example.org"
    mail["Subject"] = SUBJECT.format(number)
    mail["Message-ID"] = f"<{number}@localhost>"
    mail.set_content(BODY.format(number))
    server = urlsplit(os.environ["EMAIL_URL"])
    with smtplib.SMTP(server.hostname or "", server.port or 0, timeout=PATIENCE) as line:
        line.send_message(mail)
