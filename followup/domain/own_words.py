"""A practice's own words for a message: what may stand in them, and filling them in.

A placeholder is a known name in braces and nothing else: no attribute, no index, no format. So what an administrator
types can show nothing but what the message is about.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum

from followup.domain.wording import Text

PLACEHOLDER = re.compile(r"\{([a-z_]+)\}")
IN_BRACES = re.compile(r"\{[^{}\n]*\}")

MEANINGS = {
    "patients": "the animal's name; of several, all names",
    "link": "the owner's own link",
    "phone": "the number to phone",
    "practice": "the name of your practice",
    "provider_phone": "the number of whoever treats this kind of animal when you are closed",
    "first": "when we ask for the first time",
    "carer": "who was asked first",
    "doses": "each medicine that is due, with its amount",
    "until": "until when the dose may be given",
    "vet": "who has looked",
    "day": "the day of the recovery",
    "changes": "what has changed, in sentences",
    "heading": "what to do, in a few words",
    "phone_name": "who answers at that number",
    "action": "what to do, in one or two sentences",
    "what_happened": "who sees the answers, and when",
}
"""What each becomes, for whoever writes. Those of the cautions stand in no text of a practice."""

ANYWHERE = frozenset({"patients", "practice", "phone", "provider_phone", "link"})
"""May stand in every text."""
NOT_NEEDED = frozenset({"practice", "first", "phone_name"})
"""May be left out of a text in which ours has them; everything else that ours says must be said."""
ONE_LINE = frozenset({"patients", "practice", "heading", "carer", "vet", "day"})
"""Short enough for a subject."""


class Part(Enum):
    """A field of a text."""

    SUBJECT = "subject"
    BODY = "body"
    SHORT = "short"

    @property
    def most(self) -> int:
        """Characters that may be written, placeholders as they are typed."""
        return {Part.SUBJECT: 120, Part.BODY: 1500, Part.SHORT: 400}[self]


@dataclass(frozen=True)
class Allowed:
    """Which placeholders may stand in one field, and which must."""

    may: tuple[str, ...]
    must: tuple[str, ...]


def allowed(ours: Text, part: Part) -> Allowed:
    """As in our own text; the names that every message knows may stand in any."""
    there = names_in(getattr(ours, part.value))
    if part is Part.SUBJECT:
        return Allowed(_known(ONE_LINE & {*ANYWHERE, *there}), ())
    return Allowed(_known(ANYWHERE | set(there)), _known(set(there) - NOT_NEEDED))


def tidy(text: str) -> str:
    """Line ends of one kind, tabs as spaces, no space at the end of a line, one empty line at most between two."""
    lines = re.split(r"\r\n|[\n\r\x85\u2028\u2029]", text.replace("\t", " "))
    return re.sub(r"\n{3,}", "\n\n", "\n".join(line.rstrip() for line in lines)).strip()


def fault_in(text: str, ours: Text, part: Part) -> str:
    """What is wrong with a practice's own words for this field, in a sentence; empty: nothing."""
    if not text:
        return "" if part is Part.SHORT else "This is needed."
    return _length(text, part) or _signs(text, part) or _placeholders(text, allowed(ours, part))


def is_sound(own: Text, ours: Text) -> bool:
    """Whether these words can be sent in place of ours."""
    return not any(fault_in(getattr(own, part.value), ours, part) for part in Part)


def in_full(own: Text, ours: Text) -> Text:
    """A practice's own words with our cautions, and our text message where it has written none."""
    return replace(ours, subject=own.subject, body=own.body, short=own.short or ours.short)


def names_in(text: str) -> tuple[str, ...]:
    """The placeholders of a text, each once, in their order."""
    return tuple(dict.fromkeys(PLACEHOLDER.findall(text)))


def fill_in(text: str, words: Mapping[str, str]) -> str:
    """The text with each placeholder replaced, once: braces in what is filled in stay as they are."""
    return PLACEHOLDER.sub(lambda found: words[found[1]], text)


def _known(names: set[str] | frozenset[str]) -> tuple[str, ...]:
    return tuple(name for name in MEANINGS if name in names)


def _length(text: str, part: Part) -> str:
    if len(text) <= part.most:
        return ""
    return f"Write at most {part.most:,} characters; these are {len(text):,}."


def _signs(text: str, part: Part) -> str:
    if part is Part.SUBJECT and "\n" in text:
        return "A subject is one line: it may hold no line break."
    hidden = next((sign for sign in text if _is_hidden(sign)), "")
    if hidden:
        return f"There is a sign in it that nobody sees (U+{ord(hidden):04X}). Delete it, or type the text anew."
    return ""


def _is_hidden(sign: str) -> bool:
    """Control characters, and those that turn the order of letters round: a telephone number must read as it is."""
    turns = unicodedata.bidirectional(sign) in {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    return sign != "\n" and (unicodedata.category(sign) in {"Cc", "Cs"} or turns)


def _placeholders(text: str, known: Allowed) -> str:
    may = ", ".join(f"{{{name}}}" for name in known.may)
    unknown = next((word for word in IN_BRACES.findall(text) if word[1:-1] not in known.may), "")
    if unknown:
        return f"{unknown} is not known here. You can write {may}."
    if set("{}") & set(PLACEHOLDER.sub("", text)):
        return f"A brace stands alone. Braces belong to these and to nothing else: {may}."
    missing = [f"{{{name}}}" for name in known.must if name not in names_in(text)]
    return f"{' and '.join(missing)} must stand in it: {MEANINGS[missing[0][1:-1]]}." if missing else ""
