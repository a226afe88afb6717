"""Rooms of the staff that may be set up, for alerts. Names and addresses are Apprise's (2.3)."""

from __future__ import annotations

from followup.messaging.service import Field, Kind, Service
from followup.messaging.sms_services import CHAT, KEY_LETTERS, NUMBER

SERVER = Field("server", "Server", Kind.SERVER, example="https://chat.example.org")
OWN_ROOM = frozenset({CHAT})

CHAT_SERVICES: tuple[Service, ...] = (
    Service(
        "matrix", "Matrix", OWN_ROOM, "matrix{s}://{key}@{server}/{room}?e2ee=no",
        (
            SERVER,
            Field("key", "Access token", pattern=KEY_LETTERS, secret=True),
            Field("room", "Room", pattern=r"[#!][^\s/?]{1,200}", example="#staff:chat.example.org"),
        ),
        note="Written without end-to-end encryption: the server's keeper can read it.",
    ),
    Service(
        "mmost", "Mattermost", OWN_ROOM, "mmost{s}://{server}/{key}?channel={room}",
        (
            SERVER,
            Field("key", "Key of the incoming webhook", pattern=r"[A-Za-z0-9]{10,64}", secret=True),
            Field("room", "Channel", pattern=r"[\w.-]{1,64}", required=False, example="empty: the webhook's own"),
        ),
    ),
    Service(
        "rocket", "Rocket.Chat", OWN_ROOM, "rocket{s}://{key}@{server}/{room}?mode=webhook",
        (
            SERVER,
            Field("key", "Token of the incoming webhook", pattern=r"[A-Za-z0-9]+/[A-Za-z0-9]+", secret=True,
                  example="two parts with a / between them"),
            Field("room", "Channel", pattern=r"#[\w.-]{1,64}", example="#staff"),
        ),
    ),
    Service(
        "tgram", "Telegram", OWN_ROOM, "tgram://{key}/{room}/",
        (
            Field("key", "Token of the bot", pattern=r"[0-9]{5,12}:[\w-]{20,60}", secret=True),
            Field("room", "Number of the chat", pattern=r"-?[0-9]{3,20}", example="-100123456; groups begin with a −"),
        ),
    ),
    Service(
        "ntfy", "ntfy", OWN_ROOM, "ntfy{s}://{key}@{server}/{room}?auth=token&image=no",
        (
            SERVER,
            Field("key", "Access token", pattern=r"tk_\w{4,60}", secret=True, example="tk_…"),
            Field("room", "Topic", pattern=r"[\w-]{1,64}"),
        ),
        note="Without read access control whoever guesses the topic reads along.",
    ),
    Service(
        "signal", "Signal, by a gateway of your own", OWN_ROOM, "signal{s}://{user}:{key}@{server}/{sender}/{room}",
        (
            Field("server", "Gateway", Kind.SERVER, example="https://gateway.example.org:8443"),
            Field("user", "User name", required=False),
            Field("key", "Password", pattern=r"[^\r\n\x00]{1,200}", secret=True, required=False),
            Field("sender", "Number that is registered", pattern=NUMBER),
            Field("room", "Group", pattern=r"group\.[\w+/=-]{4,200}", example="group.…, as the gateway lists it"),
        ),
    ),
)  # fmt: skip
