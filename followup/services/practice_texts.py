"""The texts of one practice as staff read and preview them. A read model."""

from __future__ import annotations

from dataclasses import dataclass, replace

from clinic.models import Practice
from followup.domain.reading_grade import grade, is_hard
from followup.domain.sms import Length, beyond_gsm, length_of
from followup.domain.wording import TO_OWNERS, Text
from followup.models import Event, PracticeText
from followup.services.change_text import CHANGED, GIVEN_UP
from followup.services.sample_words import sample_words, words_for
from followup.services.texts import Slot, filled, in_place_of

ENGLISH = "en"
CHANGES_SHOWN = 5


@dataclass(frozen=True)
class Preview:
    """A text as an owner gets it. The grades are of e-mail and text message, and only of English.

    `beyond`: the signs that make the text message one of the longer kind.
    """

    text: Text
    length: Length
    beyond: tuple[str, ...]
    grade: float | None
    short_grade: float | None

    @property
    def is_hard(self) -> bool:
        """Whether either is harder to read than ours may be."""
        return self.grade is not None and (is_hard(self.text.body) or is_hard(self.text.short))


@dataclass(frozen=True)
class Shown:
    """One text. `broken`: own words that cannot be sent, so that ours are."""

    slot: Slot
    own: PracticeText | None
    broken: bool
    preview: Preview

    @property
    def typed(self) -> Text:
        """The words to go on from: the practice's own, even where they cannot be sent."""
        if self.own is None:
            return self.slot.ours
        return replace(self.slot.ours, subject=self.own.subject, body=self.own.body, short=self.own.short)


def texts_of(practice: Practice, *, language: str) -> list[Shown]:
    """Every text that an owner can get, as it is sent now. Two queries."""
    rows = PracticeText.objects.of(practice, language).select_related("changed_by")
    own = {row.key: row for row in rows}
    words = sample_words(practice, language=language)
    return [_shown(Slot(practice, ours, language), own.get(ours.key), words) for ours in TO_OWNERS]


def text_of(slot: Slot) -> Shown:
    """One of them. Two queries."""
    return _shown(slot, slot.row(), sample_words(slot.practice, language=slot.language))


def preview_of(slot: Slot, text: Text) -> Preview:
    """Any words for it as an owner would get them. One query."""
    return _preview(text, sample_words(slot.practice, language=slot.language), slot.language)


def changes_of(slot: Slot) -> list[Event]:
    """Who changed it when, and what stood there before; newest first."""
    kept = Event.objects.filter(practice=slot.practice, plan=None, what__in=[CHANGED, GIVEN_UP])
    of_this = kept.filter(data__key=slot.ours.key, data__language=slot.language).select_related("staff")
    return list(of_this.order_by("-at", "-pk")[:CHANGES_SHOWN])


def languages_of(practice: Practice) -> list[str]:
    """In which this practice writes; the first is meant where none is named."""
    return [str(each) for each in practice.languages] or [ENGLISH]


def _shown(slot: Slot, own: PracticeText | None, words: dict[str, str]) -> Shown:
    used = in_place_of(slot.ours, own)
    return Shown(slot, own, own is not None and used is slot.ours, _preview(used, words, slot.language))


def _preview(text: Text, words: dict[str, str], language: str) -> Preview:
    whole = filled(text, language=language, **words_for(text.key, words))
    is_english = language.partition("-")[0] == ENGLISH
    return Preview(
        text=whole,
        length=length_of(whole.short),
        beyond=beyond_gsm(whole.short),
        grade=grade(whole.body) if is_english else None,
        short_grade=grade(whole.short) if is_english else None,
    )
