"""How a case file that cannot be used is refused: the JSON path, and what is wrong there."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from followup.domain.terms import FollowUpError


class BadCase(FollowUpError):
    """A case file cannot be read, or contradicts itself, at the JSON path `path`."""

    def __init__(self, path: str, message: str) -> None:
        """Keep the path beside the sentence that carries it."""
        super().__init__(f"{path}: {message}", field=path)
        self.path = path


def refuse(path: str, message: str) -> FollowUpError:
    """The refusal for a value at `path`."""
    return BadCase(path, message)


def moment_json(moment: dt.datetime, zone: ZoneInfo | None = None) -> str:
    """RFC 3339 with an offset; in `zone` where one is given."""
    return (moment if zone is None else moment.astimezone(zone)).isoformat()
