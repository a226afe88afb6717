"""A service that an administrator may set up: fields on a form, from which its Apprise address is made, and back.

Nobody types a whole address. A value is quoted before it goes in, so none can lead to another host or service.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import quote, unquote

TO = "{to}"
"""Where the reader's number goes, filled in only when a message is sent."""
PLACES = re.compile(r"\{(\w+)\}")


class Kind(StrEnum):
    """What may be written into a field."""

    TEXT = "text"
    EMAIL = "email"
    SERVER = "server"
    """https:// and a host, with a port if need be."""
    ADDRESS = "address"
    """The same, and a path."""
    MAIL_SERVER = "mail_server"
    """A host, with a port if need be."""
    TLS = "tls"
    """Encryption from the first byte, or after the greeting."""

    @property
    def holds_host(self) -> bool:
        """Whether the practice itself says to which machine we speak."""
        return self in {Kind.SERVER, Kind.ADDRESS, Kind.MAIL_SERVER}


@dataclass(frozen=True)
class Field:
    """One field of a service. `pattern` is what the whole value must match; `example` says so in words.

    `secret`: it is never shown again.
    """

    key: str
    label: str
    kind: Kind = Kind.TEXT
    pattern: str = r"[\w.+@:/=~-]{1,200}"
    example: str = ""
    secret: bool = False
    required: bool = True


@dataclass(frozen=True)
class Service:
    """`template` is the address, with a place for each field; `{s}` stands for "s" where the connection is encrypted.

    `media` are those that it may carry. `note` is what an administrator should know before he chooses it.
    """

    key: str
    label: str
    media: frozenset[str]
    template: str
    fields: tuple[Field, ...]
    note: str = ""

    @property
    def schemas(self) -> frozenset[str]:
        """How its addresses begin."""
        plain = self.template.partition("://")[0]
        return frozenset({plain.replace("{s}", ""), plain.replace("{s}", "s")})

    @property
    def host_field(self) -> Field | None:
        """The field that says to which machine we speak; None where the service has its own."""
        return next((field for field in self.fields if field.kind.holds_host), None)

    def url(self, values: Mapping[str, str]) -> str:
        """The address. `values` have passed the form."""
        filled = {"s": "", "to": TO}
        for field in self.fields:
            value = values.get(field.key, "")
            if field.kind is Kind.TLS:
                filled["s"] = "s" if value == "tls" else ""
            elif field.kind in {Kind.SERVER, Kind.ADDRESS}:
                scheme, _, rest = value.partition("://")
                filled |= {"s": "s" if scheme == "https" else "", field.key: rest}
            else:
                filled[field.key] = value if field.kind is Kind.MAIL_SERVER else quote(value, safe="")
        return PLACES.sub(lambda place: filled[place[1]], self.template)

    def values(self, url: str) -> dict[str, str] | None:
        """What was filled in for this address; None when it was not made by this service's form."""
        found = re.fullmatch(self._pattern(), url)
        if found is None:
            return None
        secure, values = found.groupdict().get("s", ""), {}
        for field in self.fields:
            if field.kind is Kind.TLS:
                values[field.key] = "tls" if secure else "starttls"
            elif field.kind in {Kind.SERVER, Kind.ADDRESS}:
                values[field.key] = f"http{secure}://{found[field.key]}"
            else:
                values[field.key] = unquote(found[field.key])
        return values

    def _pattern(self) -> str:
        """The template as an expression: what was quoted holds none of the signs that part an address."""
        shapes = {"s": "s?", "to": None}
        shapes |= {field.key: r"[^?@#]+" if field.kind is Kind.ADDRESS else r"[^/?@#]+" for field in self.fields
                   if field.kind.holds_host}  # fmt: skip
        parts, last = [], 0
        for place in PLACES.finditer(self.template):
            shape = shapes.get(place[1], r"[^/?@:&#]*")
            parts.append(re.escape(self.template[last : place.start()]))
            parts.append(re.escape(TO) if shape is None else f"(?P<{place[1]}>{shape})")
            last = place.end()
        return "".join(parts) + re.escape(self.template[last:])
