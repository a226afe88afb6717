"""Reading a table key by key: each value is checked, and what is left over is refused by its path.

Case files and protocols are both read so. Pure: what was parsed from JSON or TOML goes in, typed
values come out.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from decimal import Decimal
from enum import StrEnum
from typing import Protocol, TypeVar, runtime_checkable

from followup.domain.terms import FollowUpError

Refuse = Callable[[str, str], FollowUpError]
"""Makes the refusal from a path and a sentence about the value there."""

LARGEST = 10**15
"""No quantity here comes near it; beyond it a number of JSON is no longer what was written."""

SMALLEST = Decimal("0.000001")
"""A quantity above nothing is at least this: below it no decimal place is kept."""

YEARS = (1970, 2200)
"""A time outside is a slip; far outside, the calendar itself ends."""

Word = TypeVar("Word", bound=StrEnum)


@runtime_checkable
class Written(Protocol):
    """Values that know where they were written, and refuse by that place."""

    def refuse(self, path: str, message: str) -> FollowUpError:
        """The refusal of what stands at `path`."""


class Table:
    """One table at `path`. Every reader takes a key; `done` refuses the keys that nobody took."""

    def __init__(self, values: object, path: str, refuse: Refuse) -> None:
        """Refuse anything but a table."""
        if not isinstance(values, dict):
            raise refuse(path, "must be a table of named values")
        self.path = path
        self._values: dict[str, object] = {str(key): value for key, value in values.items()}
        self._left = set(self._values)
        self._refuse = values.refuse if isinstance(values, Written) else refuse

    def at(self, key: str) -> str:
        """The path of `key` in this table."""
        return f"{self.path}.{key}"

    def wrong(self, key: str, message: str) -> FollowUpError:
        """The refusal to raise for `key`."""
        return self._refuse(self.at(key), message)

    def has(self, key: str) -> bool:
        """Whether `key` is there, whatever its value."""
        return key in self._values

    def done(self) -> None:
        """Refuse what is left over."""
        if self._left:
            key = sorted(self._left)[0]
            raise self.wrong(key, "is not a key that is known here")

    def take(self, key: str) -> object:
        """The value of `key`, which must be there."""
        if key not in self._values:
            raise self.wrong(key, "is missing")
        self._left.discard(key)
        return self._values[key]

    def text(self, key: str, default: str | None = None) -> str:
        """Words."""
        if default is not None and not self.has(key):
            return default
        return self._text(self.take(key), self.at(key))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of words; absent: none."""
        return tuple(self._text(each, path) for each, path in self._items(key))

    def number(self, key: str, *, above: float | None = None) -> float | None:
        """A finite number, more than `above`; absent: None."""
        if not self.has(key):
            return None
        return self._number(self.take(key), self.at(key), above)

    def needed_number(self, key: str, *, above: float | None = None) -> float:
        """A finite number that must be there."""
        return self._number(self.take(key), self.at(key), above)

    def decimal(self, key: str) -> Decimal | None:
        """A number exactly as it was written; absent: None."""
        value = self.number(key)
        return None if value is None else Decimal(str(value))

    def decimals(self, key: str) -> tuple[Decimal, ...]:
        """A list of numbers exactly as written; absent: none."""
        return tuple(Decimal(str(self._number(each, path, None))) for each, path in self._items(key))

    def whole(self, key: str, *, least: int = 0) -> int | None:
        """A whole number of at least `least`; absent: None."""
        value = self.number(key)
        if value is None:
            return None
        if value != int(value) or value < least:
            raise self.wrong(key, f"must be a whole number of at least {least}")
        return int(value)

    def needed_whole(self, key: str, *, least: int = 0) -> int:
        """A whole number that must be there."""
        found = self.whole(key, least=least)
        if found is None:
            raise self.wrong(key, "is missing")
        return found

    def yes_no(self, key: str) -> bool | None:
        """True or false; absent: None."""
        if not self.has(key):
            return None
        value = self.take(key)
        if not isinstance(value, bool):
            raise self.wrong(key, "must be true or false")
        return value

    def word(self, key: str, words: type[Word]) -> Word:
        """One of a closed set of words."""
        return self._word(self.take(key), self.at(key), words)

    def optional_word(self, key: str, words: type[Word]) -> Word | None:
        """One of a closed set of words; absent: None."""
        return self.word(key, words) if self.has(key) else None

    def words(self, key: str, words: type[Word]) -> tuple[Word, ...]:
        """A list of words of a closed set, each once; absent: none."""
        found = tuple(self._word(each, path, words) for each, path in self._items(key))
        if len(set(found)) != len(found):
            raise self.wrong(key, "names something twice")
        return found

    def moment(self, key: str) -> dt.datetime:
        """An RFC 3339 time with its offset."""
        return self._moment(self.take(key), self.at(key))

    def optional_moment(self, key: str) -> dt.datetime | None:
        """An RFC 3339 time with its offset; absent or null: None."""
        if not self.has(key):
            return None
        value = self.take(key)
        return None if value is None else self._moment(value, self.at(key))

    def clock(self, key: str) -> dt.time:
        """A clock time, HH:MM."""
        text = self.text(key)
        try:
            found = dt.datetime.strptime(text, "%H:%M").replace(tzinfo=dt.UTC).time()
        except ValueError:
            found = None
        if found is None or f"{found:%H:%M}" != text:
            raise self.wrong(key, "must be a clock time such as 07:00")
        return found

    def day(self, key: str) -> dt.date | None:
        """A date, YYYY-MM-DD; absent: None."""
        if not self.has(key):
            return None
        try:
            return dt.date.fromisoformat(self.text(key))
        except ValueError:
            raise self.wrong(key, "must be a date such as 2026-03-10") from None

    def table(self, key: str) -> Table:
        """The table below `key`; absent: an empty one."""
        value = self.take(key) if self.has(key) else {}
        return Table(value, self.at(key), self._refuse)

    def tables(self, key: str) -> tuple[Table, ...]:
        """The list of tables below `key`; absent: none."""
        return tuple(Table(each, path, self._refuse) for each, path in self._items(key))

    def _items(self, key: str) -> list[tuple[object, str]]:
        value = self.take(key) if self.has(key) else []
        if not isinstance(value, list):
            raise self.wrong(key, "must be a list")
        return [(each, f"{self.at(key)}[{index}]") for index, each in enumerate(value)]

    def _text(self, value: object, path: str) -> str:
        if not isinstance(value, str):
            raise self._refuse(path, "must be words")
        if any(each == "\0" or "\ud800" <= each <= "\udfff" for each in value):
            raise self._refuse(path, "holds a character that is no text")
        return value

    def _number(self, value: object, path: str, above: float | None) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._refuse(path, "must be a number")
        if abs(value) > LARGEST or not math.isfinite(value):  # in this order: a huge whole number is no float at all
            raise self._refuse(path, "must be a finite number")
        if above is not None and value <= above:
            raise self._refuse(path, f"must be more than {above:g}")
        if above is not None and Decimal(str(value)) < SMALLEST:
            raise self._refuse(path, f"must be at least {SMALLEST:f}")
        return value

    def _word(self, value: object, path: str, words: type[Word]) -> Word:
        known = [word.value for word in words]
        if value not in known:
            raise self._refuse(path, f"must be one of {', '.join(known)}")
        return words(value)

    def _moment(self, value: object, path: str) -> dt.datetime:
        try:
            found = dt.datetime.fromisoformat(self._text(value, path))
        except ValueError:
            raise self._refuse(path, "must be a time such as 2026-03-10T11:00:00+00:00") from None
        if found.tzinfo is None:
            raise self._refuse(path, "is a time without an offset: add Z or +01:00")
        if not YEARS[0] <= found.year <= YEARS[1]:
            raise self._refuse(path, f"must lie between the years {YEARS[0]} and {YEARS[1]}")
        return found.astimezone(dt.UTC)
