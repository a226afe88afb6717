"""The words of each language, read whole from the TOML files of this folder, apart from any protocol.

What is wrong is refused in one sentence that names the file, the line where it is known, and the list.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from followup.domain.phrases import Phrase, Phrases, spellings
from followup.domain.reading import Refuse, Table
from followup.domain.terms import FollowUpError
from followup.domain.vocabulary import Death, Denials, Language, LifeSign, Mishaps, Vocabulary

FOLDER = Path(__file__).parent
NEEDED = ("en", "es", "fr", "de")
"""Owners write in these; more may be added."""

INDEX = re.compile(r"\[\d+\]$")
MEANS_MORE = ("before", "after", "far", "ceased", "scarcely", "listing", "connectors")
"""Lists of denials with which no filler may be shared: a word that is skipped could not do its work."""


PAINKILLERS = ("paracetamol", "ibuprofen", "naproxen", "diclofenac", "aspirin", "unnamed")
"""Generic names, as plans write them; "unnamed" is "one of our painkillers"."""


class BadVocabulary(FollowUpError):
    """A file of words cannot be used as it is written."""


@cache
def vocabulary() -> Vocabulary:
    """The words that ship. Raises BadVocabulary."""
    return read(FOLDER)


def read(folder: Path) -> Vocabulary:
    """The words of every language in `folder`. Raises BadVocabulary."""
    for code in NEEDED:
        if not (folder / f"{code}.toml").is_file():
            raise BadVocabulary(f"{code}.toml: is not in the folder of words, and owners write in it.")
    return Vocabulary(
        tuple(parse(path.read_text(encoding="utf-8"), path.name) for path in sorted(folder.glob("*.toml")))
    )


def parse(text: str, where: str) -> Language:
    """One language from the `text` of the file `where`. Raises BadVocabulary."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise BadVocabulary(f"{where}: is not TOML: {fault}.") from None
    whole = Table(tables, "$", _refuse_in(where, text))
    missing = whole.table("missing")
    found = Language(
        code=where.removesuffix(".toml"),
        dangers=_phrases(whole, "dangers"),
        always=_phrases(whole, "always"),
        missing={sign: _phrases(missing, sign.value) for sign in LifeSign},
        harmless=_phrases(whole, "harmless"),
        denials=_denials(whole.table("denials")),
        death=_death(whole.table("death")),
        mishaps=_mishaps(whole.table("mishaps")),
    )
    missing.done()
    whole.done()
    return found


def _denials(table: Table) -> Denials:
    lists = {key: _written(table, key) for key in (*MEANS_MORE, "fillers", "fillers_after")}
    skipped = {*lists["fillers"], *lists["fillers_after"]}
    for key in MEANS_MORE:
        both = sorted(skipped.intersection(lists[key]))
        if both:
            raise table.wrong(key, f"and fillers both hold {' '.join(both[0])!r}: a filler is skipped and says nothing")
    found = Denials(
        before=Phrases(lists["before"]),
        after=Phrases(lists["after"]),
        far=Phrases(lists["far"]),
        reach=table.needed_whole("reach"),
        ceased=Phrases(lists["ceased"]),
        scarcely=Phrases(lists["scarcely"]),
        fillers=Phrases(lists["fillers"]),
        fillers_after=Phrases((*lists["fillers"], *lists["fillers_after"])),
        listing=Phrases(lists["listing"]),
        connectors=Phrases(lists["connectors"]),
        answers=_phrases(table, "answers"),
        items=_phrases(table, "items"),
        weakened=_phrases(table, "weakened"),
        back_again=_phrases(table, "back_again"),
        good=_phrases(table, "good"),
    )
    table.done()
    return found


def _death(table: Table) -> Death:
    found = Death(
        says=_phrases(table, "says"), other=_phrases(table, "something_else"), doubts=_phrases(table, "doubts")
    )
    table.done()
    return found


def _mishaps(table: Table) -> Mishaps:
    names = table.table("painkillers")
    found = Mishaps(
        plain=_phrases(table, "urgent"),
        grave=_phrases(table, "emergency"),
        painkillers={drug: _phrases(names, drug) for drug in PAINKILLERS},
        given=_phrases(table, "given"),
        not_given=_phrases(table, "not_given"),
        not_done=_phrases(table, "not_done"),
    )
    names.done()
    table.done()
    return found


def _phrases(table: Table, key: str) -> Phrases:
    return Phrases(_written(table, key))


def _written(table: Table, key: str) -> tuple[Phrase, ...]:
    """Every phrase that a list stands for. A list may not be empty: it would be one that nobody wrote."""
    entries = table.texts(key) if table.has(key) else ()
    if not entries:
        raise table.wrong(key, "must hold at least one phrase")
    if len(set(entries)) < len(entries):
        twice = next(each for each in entries if entries.count(each) > 1)
        raise table.wrong(key, f"holds {twice!r} twice")
    return tuple(phrase for index, each in enumerate(entries) for phrase in _spelled(table, f"{key}[{index}]", each))


def _spelled(table: Table, key: str, written: str) -> Iterator[Phrase]:
    try:
        yield from spellings(written)
    except ValueError as fault:
        raise table.wrong(key, f"{fault}: {written!r}") from None


def _refuse_in(where: str, text: str) -> Refuse:
    """Refusals that name the file, and the line of the list that is spoken of."""

    def refuse(path: str, message: str) -> FollowUpError:
        key = path.removeprefix("$").lstrip(".")
        line = _line(text, INDEX.sub("", key).split("."))
        return BadVocabulary(f"{where}{line}: {key} {message}." if key else f"{where}{line}: {message}.")

    return refuse


def _line(text: str, keys: list[str]) -> str:
    """ ":12", where the last of `keys` is written below the header of the others; empty where it is not found."""
    header, found = "", ""
    for number, line in enumerate(text.splitlines(), start=1):
        header = line.strip()[1:-1] if line.startswith("[") else header
        if header == ".".join(keys[:-1]) and re.match(rf"{re.escape(keys[-1])}\s*=", line):
            found = f":{number}"
    return found
