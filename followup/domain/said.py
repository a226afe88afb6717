"""What an owner's free text says: dangers, that an animal died, mishaps with medicine. A hint for a person to read.

Nothing here can say that all is well: what is not understood says nothing, and a person reads it anyway.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from followup.domain.denial import Reader
from followup.domain.phrases import BREAKS, Phrases, Text, spellings, text_of
from followup.domain.vocabulary import LifeSign, Vocabulary

DOUBTED_WITHIN = 6
"""A doubt counts when it stands so many words before: "I was so afraid that she had died"."""

TEXTS_REMEMBERED = 4096
Span = tuple[int, int]


@dataclass(frozen=True)
class Danger:
    """What was written. `sign`: the sign of life that is said to be missing; None: another danger."""

    words: str
    sign: LifeSign | None = None


@dataclass(frozen=True)
class Painkiller:
    """A painkiller for people that was named. `given`: said to have been given, and not asked or denied."""

    drug: str
    words: str
    given: bool


@dataclass(frozen=True)
class Said:
    """Everything a text says that a person must hear of. `died`: the words that say it; empty: none do."""

    dangers: tuple[Danger, ...] = ()
    died: str = ""
    mishaps: tuple[str, ...] = ()
    grave_mishaps: tuple[str, ...] = ()
    painkillers: tuple[Painkiller, ...] = ()


@lru_cache(maxsize=TEXTS_REMEMBERED)
def said_in(written: str, vocabulary: Vocabulary, also: tuple[str, ...] = ()) -> Said:
    """What `written` says in any language. `also`: dangers that a practice has added to its own protocol."""
    if not written.strip():
        return Said()
    text, more = text_of(written), _phrases(also)
    readers = [Reader(text.words, language) for language in vocabulary.languages]
    deaths = [each for reader in readers for each in _deaths(reader)]
    dangers = {**_dangers(readers, more), **{span: None for span, doubted in deaths if doubted}}
    return Said(
        dangers=tuple(Danger(text.quote(*span), dangers[span]) for span in sorted(dangers)),
        died=next((text.quote(*span) for span, doubted in deaths if not doubted), ""),
        mishaps=_mishaps(text, readers, grave=False),
        grave_mishaps=_mishaps(text, readers, grave=True),
        painkillers=tuple(_painkillers(text, readers)),
    )


@lru_cache(maxsize=64)
def _phrases(written: tuple[str, ...]) -> Phrases:
    return Phrases(phrase for each in written for phrase in spellings(each))


def _dangers(readers: Sequence[Reader], more: Phrases) -> dict[Span, LifeSign | None]:
    """Every danger that no language denies. Of a word that several languages share, one denial is enough."""
    named, denied, found = set(), set(), dict[Span, LifeSign | None]()
    for reader in readers:
        for phrases in (reader.language.dangers, more):
            for span in reader.matches(phrases):
                named.add(span)
                if reader.denied(*span):
                    denied.add(span)
        found |= dict.fromkeys(reader.matches(reader.language.always))
        found |= _missing(reader)
    return found | dict.fromkeys(named - denied)


def _missing(reader: Reader) -> dict[Span, LifeSign | None]:
    """Signs of life that are said not to be there."""
    found = dict[Span, LifeSign | None]()
    for sign, phrases in reader.language.missing.items():
        for start, end in reader.matches(phrases):
            says = reader.missing(sign, start, end)
            # "not breathing heavily" speaks of the heaviness, which is a danger of its own
            if says is not None and reader.language.dangers.at(reader.words, start) <= end - start:
                found[says] = sign
    return found


def _deaths(reader: Reader) -> Iterator[tuple[Span, bool]]:
    """Where it is said that the animal died, and whether that is doubted; nothing where it is denied, or another's."""
    death = reader.language.death
    for start, end in reader.matches(death.says):
        first = max(reader.sentence(start)[0], start - DOUBTED_WITHIN)
        if reader.denied_just_before(start) or _any(reader, death.other, first, end):
            continue
        yield (start, end), _any(reader, death.doubts, first, end)


def _mishaps(text: Text, readers: Sequence[Reader], *, grave: bool) -> tuple[str, ...]:
    named, denied = set[Span](), set[Span]()
    for reader in readers:
        told = reader.language.mishaps
        spans = reader.matches(told.grave if grave else told.plain)
        named |= set(spans)
        denied |= {span for span in spans if reader.denied(*span)}
    return tuple(dict.fromkeys(text.quote(*span) for span in sorted(named - denied)))


def _painkillers(text: Text, readers: Sequence[Reader]) -> Iterator[Painkiller]:
    """Each that is named and not denied. The languages share the names; the verbs are each one's own."""
    named = {
        span: drug
        for reader in readers
        for drug, names in reader.language.mishaps.painkillers.items()
        for span in reader.matches(names)
    }
    given = [place for reader in readers for place in _given(reader)]
    never = [start for reader in readers for start, _ in reader.matches(reader.language.mishaps.not_given)]
    for start, end in sorted(named):
        first, last = readers[0].sentence(start)
        is_given = any(first <= place < last for place in given)
        is_denied = any(reader.denied(start, end) for reader in readers)
        if not is_denied and (is_given or not any(first <= place < last for place in never)):
            yield Painkiller(named[start, end], text.quote(start, end), is_given)


def _given(reader: Reader) -> list[int]:
    """Where it is said that something was given, and neither denied nor asked nor only thought of."""
    told = reader.language.mishaps
    never = {place for start, end in reader.matches(told.not_given) for place in range(start, end)}
    return [
        start
        for start, end in reader.matches(told.given)
        if start not in never
        and not reader.denied(start, end)
        and not _any(reader, told.not_done, _part(reader, start), start)
    ]


def _part(reader: Reader, place: int) -> int:
    """Where the part of the sentence begins in which `place` lies: after a comma or a word such as "but"."""
    connectors = reader.language.denials.connectors
    while place > 0 and reader.words[place - 1] not in BREAKS and not connectors.before(reader.words, place):
        place -= 1
    return place


def _any(reader: Reader, phrases: Phrases, start: int, end: int) -> bool:
    lengths = ((place, phrases.at(reader.words, place)) for place in range(start, end))
    return any(0 < length <= end - place for place, length in lengths)
