"""Where each table of a TOML file was written, so that a refusal names the file and the line even after merging."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from followup.protocols.refusals import BadProtocol, refusal

HEADER = re.compile(r"^\s*(?:\[\[\s*([\w-]+)\s*\]\]|\[\s*([\w-]+)\s*\])")
KEY = re.compile(r"^\s*([\w-]+)\s*=")
QUOTED = re.compile(r"\"(?:\\.|[^\"\\])*\"|'[^']*'")


@dataclass(frozen=True)
class Place:
    """A line of a file."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


class Placed(dict[str, object]):
    """A table that knows where it, and each of its keys, was written."""

    def __init__(self, values: Mapping[str, object], place: Place, keys: Mapping[str, Place]) -> None:
        """`keys`: where each key stands."""
        super().__init__(values)
        self.place, self.keys_at = place, dict(keys)

    def at(self, key: str) -> Place:
        """The line of `key`, or of the table where the key is missing."""
        return self.keys_at.get(key, self.place)

    def refuse(self, path: str, message: str) -> BadProtocol:
        """The refusal of what stands at `path`, whose last part is a key of this table."""
        last = re.sub(r"\[\d+\]$", "", path.rpartition(".")[2])
        return refusal(self.at(last), path, message)

    def under(self, child: Mapping[str, object], values: Mapping[str, object]) -> Placed:
        """The merged `values` of this table and the `child` laid over it."""
        if not isinstance(child, Placed):
            return Placed(values, self.place, self.keys_at)
        return Placed(values, child.place, {**self.keys_at, **child.keys_at})


@dataclass
class _Section:
    """One header with what follows it. `inside`: by key, the lines on which its inline tables begin."""

    line: int
    keys: dict[str, int] = field(default_factory=dict)
    inside: dict[str, list[int]] = field(default_factory=dict)


def place(tables: Mapping[str, object], text: str, file: str) -> Placed:
    """The parsed `tables` of `text`, each with its place in `file`."""
    sections = _sections(text)
    top = sections[""][0]
    found: dict[str, object] = {}
    for name, value in tables.items():
        own = sections.get(name)
        if own is None:  # a plain value, or inline tables at the top
            found[name] = _inline(value, top, name, file)
        elif isinstance(value, list):
            found[name] = [_table(each, section, file) for each, section in zip(value, own, strict=True)]
        else:
            found[name] = _table(value, own[0], file)
    keys = {name: Place(file, own[0].line) for name, own in sections.items() if name}
    return Placed(found, Place(file, 1), keys | {key: Place(file, line) for key, line in top.keys.items()})


def _table(values: object, section: _Section, file: str) -> object:
    if not isinstance(values, dict):
        return values
    inner = {key: _inline(value, section, key, file) for key, value in values.items()}
    return Placed(inner, Place(file, section.line), {key: Place(file, line) for key, line in section.keys.items()})


def _inline(value: object, section: _Section, key: str, file: str) -> object:
    """Tables written in braces: each stands where its brace opens."""
    lines = section.inside.get(key, [])
    if isinstance(value, list) and len(value) == len(lines) and all(isinstance(each, dict) for each in value):
        return [Placed(each, Place(file, line), {}) for each, line in zip(value, lines, strict=True)]
    return value


def _sections(text: str) -> dict[str, list[_Section]]:
    found: dict[str, list[_Section]] = {"": [_Section(1)]}
    section, key, depth = found[""][0], "", 0
    for number, bare in _bare_lines(text):
        header = HEADER.match(bare) if depth == 0 else None
        if header:
            section = _Section(number)
            found.setdefault(header[1] or header[2], []).append(section)
            continue
        named = KEY.match(bare) if depth == 0 else None
        if named:
            key = named[1]
            section.keys[key] = number
        depth = _braces(bare, depth, section.inside.setdefault(key, []), number)
    return found


def _bare_lines(text: str) -> Iterator[tuple[int, str]]:
    """Each line without what stands in quotes and without its comment."""
    for number, line in enumerate(text.splitlines(), start=1):
        yield number, QUOTED.sub('""', line).split("#", 1)[0]


def _braces(bare: str, depth: int, opened: list[int], number: int) -> int:
    """How many brackets are open after the line; notes each brace that opens right inside a list."""
    for letter in bare:
        if letter == "{" and depth == 1:
            opened.append(number)
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(letter, 0)
    return depth
