"""The fields of one service, as an administrator fills them in. A secret is never sent back to a page."""

from __future__ import annotations

import re
from collections.abc import Mapping

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.http import QueryDict

from followup.messaging.apprise_channel import can_be_used
from followup.messaging.catalogue import GATEWAY, MAIL, SMS
from followup.messaging.service import TO, Field, Kind, Service

HOST = r"(?:[A-Za-z0-9-]+(?:\.[A-Za-z0-9-]+)*|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?"
SHAPES = {
    Kind.MAIL_SERVER: (HOST, "Write the name of the server, such as mail.example.org:587."),
    Kind.SERVER: (rf"https?://{HOST}", "Write https:// and the name of the server, without a path."),
    Kind.ADDRESS: (
        rf"https?://{HOST}(?:/[\w.~/%-]*(?:\{{to\}})?[\w.~/%-]*)?",
        "Write https://, the name of the server and a path, without ? or #.",
    ),
}
PORTS = range(1, 65536)
LONGEST = 400
TLS = (("starttls", "after the greeting (STARTTLS, port 587)"), ("tls", "from the start (TLS, port 465)"))
KEPT = "Kept. Type a new one to replace it."


class ChannelForm(forms.Form):
    """One service for one medium. `before`: what was filled in last for it, secrets too."""

    use_required_attribute = False

    def __init__(self, service: Service, medium: str, typed: QueryDict | None, before: Mapping[str, str]) -> None:
        """`typed` None: as it is kept."""
        secret = {field.key for field in service.fields if field.secret}
        shown = {key: value for key, value in before.items() if key not in secret}
        super().__init__(typed, initial=shown)
        self.service, self.medium, self.before = service, medium, before
        self.checked = typed is not None  # what the page's fields look at
        for field in service.fields:
            self.fields[field.key] = _field(field, kept=field.secret and bool(before.get(field.key)))

    def clean(self) -> None:
        """Each value by the shape of its field; then the whole by Apprise itself."""
        for field in self.service.fields:
            self._check(field)
        if not self.errors and not self._usable():
            raise ValidationError("The service would not take these: look at each of them again.")

    def url(self) -> str:
        """The address made of it. Only after `is_valid`."""
        return self.service.url(self.cleaned_data)

    def _check(self, field: Field) -> None:
        value = str(self.cleaned_data.get(field.key) or "").strip()
        if not value and field.secret:
            value = self._kept(field)
        self.cleaned_data[field.key] = value
        fault = _fault(field, value) or self._fault_of_place(field, value)
        if fault and field.key not in self.errors:
            self.add_error(field.key, fault)

    def _kept(self, field: Field) -> str:
        """A secret that was not typed anew, unless it would now go to another machine: then nobody may send it on."""
        host = self.service.host_field
        moved = host is not None and self.cleaned_data.get(host.key) != self.before.get(host.key)
        if moved and self.before.get(field.key):
            self.add_error(field.key, "The server is another one: type this anew.")
            return ""
        return self.before.get(field.key, "")

    def _fault_of_place(self, field: Field, value: str) -> str:
        """The number's place, where the practice writes the path itself."""
        if field.kind is not Kind.ADDRESS or self.service is GATEWAY:
            return "Take out {to}: the number is in the message." if TO in value and self.service is GATEWAY else ""
        if self.medium == SMS and TO not in value:
            return "Write {to} in the path, where the number goes."
        return "Take out {to}: a room has no number." if self.medium != SMS and TO in value else ""

    def _usable(self) -> bool:
        return self.service in {MAIL, GATEWAY} or can_be_used(self.url())


def _field(field: Field, *, kept: bool) -> forms.Field:
    if field.kind is Kind.TLS:
        return forms.ChoiceField(label=field.label, choices=TLS)
    attrs = {"autocomplete": "new-password" if field.secret else "off", "spellcheck": "false"}
    return forms.CharField(
        label=field.label,
        required=field.required and not kept,
        help_text=KEPT if kept else field.example,
        max_length=LONGEST,
        widget=forms.PasswordInput(attrs) if field.secret else forms.TextInput(attrs),
        error_messages={"required": "This is needed."},
    )


def _fault(field: Field, value: str) -> str:
    """What is wrong with the value; empty: nothing."""
    if not value or field.kind is Kind.TLS:
        return ""
    if field.kind is Kind.EMAIL:
        return _fault_of_email(value)
    pattern, words = SHAPES.get(field.kind, (field.pattern, f"This does not look like one. {field.example}".strip()))
    if not re.fullmatch(pattern, value):
        return words
    return _fault_of_port(value) if field.kind.holds_host else ""


def _fault_of_email(value: str) -> str:
    try:
        validate_email(value)
    except ValidationError:
        return "This is not an e-mail address."
    return "" if value.isascii() else "Mail servers do not take this address: write one without accents."


def _fault_of_port(value: str) -> str:
    port = re.search(r":([0-9]+)(?:/|$)", value)
    return "A port is a number from 1 to 65535." if port and int(port[1]) not in PORTS else ""
