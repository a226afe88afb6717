"""The pages on which a practice sets up its ways out."""

from __future__ import annotations

from tests.browser.pages.shown import ADMINISTRATOR, DESK, EMPTY, LONG, VET, Shown, press

LIST, MAIL, TEXTS, ROOM = (
    "followup:channels",
    "followup:channel_email",
    "followup:channel_sms",
    "followup:channel_chat",
)


def _at(then: str = ""):
    return lambda _site: f"/practice/channels/{then}"


CHANNELS = (
    Shown("channels", LIST, VET, _at()),
    Shown("channels-administrator", LIST, ADMINISTRATOR, _at()),
    Shown("channels-long-names", LIST, LONG, _at()),
    Shown("channels-not-yours", LIST, DESK, _at(), status=403),
    Shown("channel-email", MAIL, VET, _at("email/")),
    Shown("channel-email-faults", MAIL, VET, _at("email/"), status=422,
          does=press("Save", server="http://mail", sender="desk", key="secret")),
    Shown("channel-email-saved", MAIL, EMPTY, _at("email/"),
          does=press("Save", server="mail.example.org:587", sender="desk@example.org", user="desk", key="secret")),
    Shown("channel-email-tried", MAIL, EMPTY, _at("email/"),
          does=press("Save, and send a test", server="127.0.0.1:9", sender="desk@example.org", user="", key="x")),
    Shown("channel-sms", TEXTS, VET, _at("sms/")),
    Shown("channel-sms-gateway", TEXTS, VET, _at("sms/?service=clinicgateway")),
    Shown("channel-sms-tried", TEXTS, VET, _at("sms/"),
          does=press("Send a test to myself")),
    Shown("channel-sms-long-names", TEXTS, LONG, _at("sms/?service=sinch")),
    Shown("channel-chat", ROOM, ADMINISTRATOR, _at("chat/?service=matrix")),
    Shown("channel-chat-faults", ROOM, VET, _at("chat/?service=rocket"),
          does=press("Save", server="chat", room="staff"), status=422),
)  # fmt: skip
