"""The protocols that ship, read whole.

What is wrong is refused in one sentence that names the file and the key.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path

from followup.domain.protocol import Protocol
from followup.domain.reading import Table
from followup.domain.terms import Procedure, Species
from followup.protocols.merging import Tables, as_text, merge
from followup.protocols.parse_agreed import parse_agreed
from followup.protocols.parse_course import parse_course
from followup.protocols.parse_explaining import parse_can_explain
from followup.protocols.parse_rules import parse_rules, weight_rule
from followup.protocols.parse_steady import STEADY_TABLES, parse_steady
from followup.protocols.places import place
from followup.protocols.refusals import BadProtocol, refuse_in

FOLDER = Path(__file__).parent
PARTS = "_"
"""A file whose name begins so is a part of others and no protocol by itself."""

NOT_PROTOCOLS = frozenset({"formulary"})
RULE_TABLES = ("answer", "pain", "vomits", "not_sure", "clock", "picture", "words")


def names(folder: Path = FOLDER) -> tuple[str, ...]:
    """The names of the protocols in `folder`."""
    stems = (path.stem for path in sorted(folder.glob("*.toml")))
    return tuple(stem for stem in stems if not stem.startswith(PARTS) and stem not in NOT_PROTOCOLS)


@cache
def available() -> tuple[Protocol, ...]:
    """Every protocol that ships."""
    return tuple(load(name) for name in names())


def load(name: str, folder: Path = FOLDER) -> Protocol:
    """The protocol of that name, its parts put in. Raises BadProtocol."""
    found = _protocol(_merged(name, folder, ()), f"{name}.toml")
    if found.name != name:
        raise BadProtocol(f"{name}.toml: protocol.name is {found.name!r} and must be the file's name.")
    return found


@cache
def merged_text(name: str, folder: Path = FOLDER) -> str:
    """The protocol as one text that needs no other file: the copy that a plan keeps."""
    return as_text(_merged(name, folder, ()))


@lru_cache(maxsize=64)
def parse(text: str, where: str = "protocol") -> Protocol:
    """A protocol from the text that a plan keeps; the same text is read once. Raises BadProtocol."""
    return _protocol(_tables(text, where), where)


def _protocol(tables: Mapping[str, object], where: str) -> Protocol:
    whole = Table(tables, "$", refuse_in(where))
    head = whole.table("protocol")
    rules = parse_rules({key: whole.take(key) for key in RULE_TABLES if whole.has(key)}, where)
    can_explain = tuple(parse_can_explain(each) for each in whole.tables("can_explain"))
    species = head.word("species", Species)
    steady = parse_steady({key: whole.take(key) for key in STEADY_TABLES if whole.has(key)}, species, where)
    course = parse_course(whole)
    found = Protocol(
        name=head.text("name"),
        version=head.needed_whole("version", least=1),
        species=species,
        procedure=head.word("procedure", Procedure),
        title=head.text("title"),
        rules=replace(rules, weight=(weight_rule(course.weight_bands),), steady=steady, can_explain=can_explain),
        course=course,
        agreed=tuple(parse_agreed(each, species) for each in whole.tables("agreed")),
    )
    head.done()
    whole.done()
    return found


def _merged(name: str, folder: Path, above: tuple[str, ...]) -> Tables:
    if name in above:
        raise BadProtocol(f"{above[-1]}.toml: extends leads back to {name!r}.")
    path = folder / f"{name}.toml"
    if not path.is_file():
        where = f"{above[-1]}.toml: extends names {name!r}, which" if above else f"A protocol {name!r}"
        raise BadProtocol(f"{where} is not here.")
    own = _read(path.read_text(encoding="utf-8"), path.name)
    merged: Tables = {}
    for parent in _extends(own, path.name):
        merged = merge(merged, _merged(parent, folder, (*above, name)))
    merged = merge(merged, own)
    merged.pop("extends", None)
    return merged


def _extends(own: Tables, where: str) -> tuple[str, ...]:
    return Table({"extends": own.get("extends", [])}, "$", refuse_in(where)).texts("extends")


@lru_cache(maxsize=128)
def _read(text: str, where: str) -> Tables:
    """One file, read once: most of them are parts of many protocols. Nobody changes what is shared so."""
    return _tables(text, where)


def _tables(text: str, where: str) -> Tables:
    try:
        return place(tomllib.loads(text), text, where)
    except tomllib.TOMLDecodeError as fault:
        raise BadProtocol(f"{where}: is not TOML: {fault}.") from None
