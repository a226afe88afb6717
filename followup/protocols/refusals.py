"""How a wrong protocol or formulary is refused: in one sentence, naming file and key."""

from __future__ import annotations

from followup.domain.reading import Refuse, Table
from followup.domain.sources import Source
from followup.domain.terms import FollowUpError, Mark


class BadProtocol(FollowUpError):
    """A protocol or the formulary cannot be used as it is written."""


def refusal(where: object, path: str, message: str) -> BadProtocol:
    """The sentence about the value at `path`, written at `where`."""
    key = path.removeprefix("$").lstrip(".")
    return BadProtocol(f"{where}: {key} {message}." if key else f"{where}: {message}.")


def refuse_in(where: str) -> Refuse:
    """Refusals that name the file `where` and the key."""

    def refuse(path: str, message: str) -> FollowUpError:
        return refusal(where, path, message)

    return refuse


def source_of(table: Table) -> Source:
    """The mark and source that stand beside a value."""
    found = Source(mark=table.word("mark", Mark), text=table.text("source"))
    if not found.text.strip():
        raise table.wrong("source", 'must say where it comes from, if only "common practice, no source"')
    return found
