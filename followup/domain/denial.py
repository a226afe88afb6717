"""Whether a word in an owner's text is denied. A denial binds only what it plainly denies; what is in doubt stands.

"no redness, bleeding or pus" denies three things; "no swelling, bleeding a lot" denies one.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from followup.domain.phrases import ASKED, BREAKS, COLON, COMMA, OR, SENTENCE_ENDS, Phrases
from followup.domain.vocabulary import Language, LifeSign

LONGEST_LIST = 12
"""No denial is believed of more things than an owner would list."""

HIDDEN = "_"
"""Stands in the place of each word of a harmless phrase: it is no filler, so that no denial reaches across."""

CEASED_WITHIN = 3
"""A "not" so many words before "stopped" takes it back: "has not really quite stopped bleeding"."""


class Reader:
    """One text in one language. Words are named by their place: `start` is the first, `end` the one after the last."""

    def __init__(self, words: Sequence[str], language: Language) -> None:
        """Hide what is harmless."""
        self.language = language
        self.says_no = language.denials
        self.words = list(words)
        for start in range(len(words)):
            for place in range(start, start + language.harmless.at(words, start)):
                self.words[place] = HIDDEN
        self._ends = [place for place, word in enumerate(self.words) if word in SENTENCE_ENDS]
        self._back_again = [start for start, _ in self.matches(self.says_no.back_again)]

    def matches(self, phrases: Phrases) -> list[tuple[int, int]]:
        """Where one of `phrases` stands."""
        found = ((start, phrases.at(self.words, start)) for start in range(len(self.words)))
        return [(start, start + length) for start, length in found if length]

    def denied(self, start: int, end: int) -> bool:
        """Whether a danger is plainly denied, all of it, and does not come back in the same sentence."""
        if self._weakened(end) or self._comes_back(end):
            return False
        return (
            self._denied_before(start, far=CEASED_WITHIN)
            or self._listed(start, end)
            or self._denied_after(end)
            or self._answered_no(end)
        )

    def missing(self, sign: LifeSign, start: int, end: int) -> tuple[int, int] | None:
        """The words that say that a sign of life is not there, the sign among them; None: nothing says so."""
        # what is passed is also described: "der Kot ist nicht hart"
        described = sign in {LifeSign.DROPPINGS, LifeSign.URINE}
        return self._missing_before(start, end) or self._missing_after(start, end, described=described)

    def sentence(self, place: int) -> tuple[int, int]:
        """Where the sentence around `place` begins and ends."""
        after = bisect_left(self._ends, place)
        start = self._ends[after - 1] + 1 if after else 0
        return start, self._ends[after] if after < len(self._ends) else len(self.words)

    def denied_just_before(self, start: int) -> bool:
        """Whether a denial, or that it ceased, stands before with nothing but fillers between."""
        return self._denied_before(start, far=0)

    def _denied_before(self, start: int, *, far: int) -> bool:
        denial = self._just_before(self.says_no.before, start)
        if denial:
            return not self._used_up(*denial)
        ceased = self._just_before(self.says_no.ceased, start)
        return ceased is not None and not self._ceasing_denied(*ceased, far=far)

    def _used_up(self, start: int, end: int) -> bool:
        """ "frisst nicht blutet": the denial belongs to the verb before it."""
        verbs = (self.language.missing[sign] for sign in (LifeSign.FOOD, LifeSign.LIFE))
        before = self._skip_back(start)
        return bool(self.says_no.after.before(self.words, end)) and any(
            each.before(self.words, before) for each in verbs
        )

    def _ceasing_denied(self, start: int, end: int, *, far: int) -> bool:
        """ "has not stopped", "stopped? no"."""
        says = (self.says_no.before, self.says_no.scarcely)
        if any(self._just_before(phrases, start) for phrases in says):
            return True
        for place in range(start, max(start - far - 1, 0), -1):
            if any(phrases.before(self.words, place) for phrases in says):
                return True
            if self._parts(place - 1):
                break
        return self._answered_no(end)

    def _denied_after(self, end: int) -> bool:
        """ "blutet nicht", "bleeding has stopped"; an adjective after it shows that it denies something else."""
        place = self._skip_on(end)
        length = self.says_no.ceased.at(self.words, place)
        if length:
            return not self._weakened(place + length) and not self._ceasing_denied(place, place + length, far=0)
        length = self.says_no.after.at(self.words, place)
        return bool(length) and self._closes(place + length)

    def _closes(self, place: int) -> bool:
        """Whether what follows a denial leaves it whole: the end, a filler, or a new thing said."""
        if place >= len(self.words) or self._parts(place) or self.words[place] == OR:
            return True
        if self.says_no.ceased.at(self.words, self._skip_on(place)):
            return False
        after = self._skip_on(place)
        if any(each.at(self.words, after) for each in (self.language.dangers, self.says_no.items)):
            return False
        says = (self.says_no.fillers_after, self.says_no.connectors, self.says_no.before)
        return any(each.at(self.words, place) for each in says) and not self._weakened(place)

    def _answered_no(self, end: int) -> bool:
        """ "Blood: no", "Eating? None." But not "bleeding, no?"."""
        place = self._skip_on(end)
        if place < len(self.words) and self.words[place] in {COLON, ASKED}:
            place += 1
        length = self.says_no.answers.at(self.words, place)
        after = self._skip_on(place + length)
        return bool(length) and (
            after >= len(self.words) or self.words[after] in BREAKS - {ASKED} or self.words[after] == OR
        )

    def _weakened(self, end: int) -> bool:
        """ "not bleeding as much": it bleeds."""
        return any(self.says_no.weakened.at(self.words, place) for place in (end, self._skip_on(end)))

    def _comes_back(self, end: int) -> bool:
        """ "the bleeding had stopped but is back"."""
        last = self.sentence(end)[1]
        after = bisect_left(self._back_again, end)
        return after < len(self._back_again) and self._back_again[after] < last

    def _listed(self, start: int, end: int) -> bool:
        """Whether it is one of several things that one denial denies; after a comma an "or" must close the list."""
        place, first = self._skip_back(start), ""
        for _ in range(LONGEST_LIST):
            separator = self._separator_before(place)
            if not separator:
                return False
            first = first or separator[0]
            item = self._item_before(self._skip_back(separator[1]))
            if not item:
                return False
            place = self._skip_back(item)
            if self._just_before(self.says_no.before, item):
                return first == OR or self._closes_with_or(end)
        return False

    def _separator_before(self, place: int) -> tuple[str, int] | None:
        """The comma or "or" just before, and where it stands; a comma before an "or" belongs to it."""
        if place > 0 and self.words[place - 1] in {COMMA, OR}:
            return self.words[place - 1], place - 1
        length = self.says_no.listing.before(self.words, place)
        if not length:
            return None
        at = place - length
        return OR, at - 1 if at > 0 and self.words[at - 1] == COMMA else at

    def _item_before(self, place: int) -> int:
        """Where the thing begins that ends at `place`; 0: none, since a denial stands before it."""
        length = max(each.before(self.words, place) for each in (self.language.dangers, self.says_no.items))
        return place - length if length else 0

    def _closes_with_or(self, end: int) -> bool:
        place = self._skip_on(end)
        for _ in range(LONGEST_LIST):
            if place >= len(self.words):
                return False
            if self.words[place] == COMMA and self.says_no.listing.at(self.words, place + 1):
                place += 1
            is_comma = self.words[place] == COMMA
            length = 1 if is_comma or self.words[place] == OR else self.says_no.listing.at(self.words, place)
            thing = self._skip_on(place + length)
            taken = max(each.at(self.words, thing) for each in (self.language.dangers, self.says_no.items))
            if not length or (is_comma and not taken):
                return False
            if not is_comma:
                return bool(taken)
            place = self._skip_on(thing + taken)
        return False

    def _missing_before(self, start: int, end: int) -> tuple[int, int] | None:
        for phrases in (self.says_no.before, self.says_no.scarcely):
            denial = self._just_before(phrases, start)
            if denial:
                return denial[0], end
        ceased = self._just_before(self.says_no.ceased, start)
        if ceased:
            return None if self._ceasing_denied(*ceased, far=0) else (ceased[0], end)
        return self._missing_far_before(start, end)

    def _missing_far_before(self, start: int, end: int) -> tuple[int, int] | None:
        """ "not at all keen on eating": some words may stand between, but no other thing and nothing good after."""
        if self.says_no.good.at(self.words, end):
            return None
        for place in range(start, max(start - self.says_no.reach - 1, 0), -1):
            length = self.says_no.far.before(self.words, place)
            if length:
                return place - length, end
            if self._parts(place - 1) or self._another(place - 1):
                return None
        return None

    def _missing_after(self, start: int, end: int, *, described: bool) -> tuple[int, int] | None:
        for place in range(end, min(self._skip_on(end) + self.says_no.reach + 1, len(self.words))):
            length = max(self.says_no.after.at(self.words, place), self.says_no.scarcely.at(self.words, place))
            if length:
                return (start, place + length) if self._closes(place + length) or not described else None
            ceased = self.says_no.ceased.at(self.words, place)
            if ceased and not self._ceasing_denied(place, place + ceased, far=0):
                return start, place + ceased
            if self._parts(place) or self._another(place) or self.says_no.good.at(self.words, place):
                break
        return (start, end) if self._answered_no(end) else None

    def _parts(self, place: int) -> bool:
        """Whether something new begins here."""
        word = self.words[place]
        return word in BREAKS or word == HIDDEN or bool(self.says_no.connectors.at(self.words, place))

    def _another(self, place: int) -> bool:
        """Whether another thing is spoken of here."""
        things = (self.language.dangers, self.says_no.items, self.says_no.ceased, *self.language.missing.values())
        return any(each.at(self.words, place) for each in things)

    def _just_before(self, phrases: Phrases, place: int) -> tuple[int, int] | None:
        """Where one of `phrases` ends at `place`, or with nothing but fillers between."""
        while True:
            length = phrases.before(self.words, place)
            if length:
                return place - length, place
            filler = self.says_no.fillers.before(self.words, place)
            if not filler:
                return None
            place -= filler

    def _skip_back(self, place: int) -> int:
        while length := self.says_no.fillers.before(self.words, place):
            place -= length
        return place

    def _skip_on(self, place: int) -> int:
        while length := self.says_no.fillers_after.at(self.words, place):
            place += length
        return place
