"""Gateways for text messages that may be set up, with an account of the practice's own. Names are Apprise's (2.3)."""

from __future__ import annotations

from followup.messaging.service import Field, Kind, Service

SMS, CHAT = "sms", "chat"
NUMBER = r"\+?[0-9]{3,15}"
SENDER = r"\+?[0-9]{3,15}|[A-Za-z0-9]{1,11}"
"""A number, or up to eleven letters and digits (GSM 03.38's alphanumeric sender)."""
KEY_LETTERS = r"[\w.~+/=-]{4,200}"


def _from(*, required: bool = True, pattern: str = NUMBER) -> Field:
    words = "a number with its country code" if pattern == NUMBER else "a number, or up to 11 letters and digits"
    return Field("sender", "Sender", pattern=pattern, example=words, required=required)


def _key(label: str) -> Field:
    return Field("key", label, pattern=KEY_LETTERS, secret=True)


def _account(label: str) -> Field:
    return Field("account", label, pattern=KEY_LETTERS)


def _web(schema: str, label: str) -> Service:
    """A web service of the practice's own. Apprise names the fields of what is posted."""
    return Service(
        key=schema,
        label=label,
        media=frozenset({SMS, CHAT}),
        template=schema + "{s}://{user}:{key}@{address}",
        fields=(
            Field(
                "address",
                "Address",
                Kind.ADDRESS,
                example="https://gateway.example.org/send/{to}; {to} where the number goes, no {to} for a chat",
            ),
            Field("user", "User name", required=False),
            Field("key", "Password", pattern=r"[^\r\n\x00]{1,200}", secret=True, required=False),
        ),
        note="Any answer from 200 to 299 counts as sent: an error inside it is not seen. An own gateway sees it.",
    )


GATEWAY = Service(
    key="clinicgateway",
    label="Gateway of your own (JSON)",
    media=frozenset({SMS}),
    template="clinicgateway{s}://{key}@{address}?from={sender}",
    fields=(
        Field("address", "Address", Kind.ADDRESS, example="https://gateway.example.org/send"),
        Field(
            "key", "Token", pattern=KEY_LETTERS, secret=True, required=False, example="sent as Authorization: Bearer …"
        ),
        _from(required=False, pattern=SENDER),
    ),
    note="We POST to, text, id and from as JSON, with an Idempotency-Key that stays the same when we try again. "
    "An error inside an answer is seen.",
)
SMS_SERVICES: tuple[Service, ...] = (
    GATEWAY,
    _web("json", "Web service of your own (JSON)"),
    _web("form", "Web service of your own (form)"),
    _web("xml", "Web service of your own (XML)"),
    Service(
        "twilio", "Twilio", frozenset({SMS}), "twilio://{account}:{key}@{sender}/{to}",
        (_account("Account SID"), _key("Auth token"), _from()),
    ),
    Service(
        "vonage", "Vonage", frozenset({SMS}), "vonage://{account}:{key}@{sender}/{to}",
        (_account("API key"), _key("API secret"), _from()),
    ),
    Service(
        "clicksend", "ClickSend", frozenset({SMS}), "clicksend://{account}:{key}@{to}",
        (Field("account", "User name"), _key("API key")),
    ),
    Service(
        "bulksms", "BulkSMS", frozenset({SMS}), "bulksms://{account}:{key}@{to}?from={sender}",
        (_account("Token id"), _key("Token secret"), _from(required=False)),
    ),
    Service(
        "msgbird", "MessageBird", frozenset({SMS}), "msgbird://{key}/{sender}/{to}",
        (_key("API key"), _from()),
    ),
    Service(
        "plivo", "Plivo", frozenset({SMS}), "plivo://{account}@{key}/{sender}/{to}",
        (_account("Auth id"), _key("Auth token"), _from()),
    ),
    Service(
        "seven", "seven", frozenset({SMS}), "seven://{key}/{to}?from={sender}",
        (_key("API key"), _from(required=False, pattern=SENDER)),
    ),
    Service(
        "sinch", "Sinch", frozenset({SMS}), "sinch://{account}:{key}@{sender}/{to}?region={region}",
        (
            _account("Service plan id"),
            _key("API token"),
            _from(),
            Field("region", "Region", pattern="eu|us", example="eu or us"),
        ),
    ),
    Service(
        "46elks", "46elks", frozenset({SMS}), "46elks://{account}:{key}@{sender}/{to}",
        (_account("User name"), _key("Password"), _from(pattern=SENDER)),
    ),
    Service(
        "smseagle", "SMSEagle (a box of your own)", frozenset({SMS}), "smseagle{s}://{key}@{server}/{to}",
        (Field("server", "Address", Kind.SERVER, example="https://box.example.org"), _key("Access token")),
    ),
)  # fmt: skip
