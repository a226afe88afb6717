"""A practice writes a message in its own words, or goes back to ours. What stood there before is kept in the log."""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from clinic.models import Role, Staff
from followup.domain.own_words import Part, fault_in
from followup.domain.terms import FollowUpError
from followup.domain.wording import Text
from followup.models import PracticeText
from followup.services.log import log
from followup.services.texts import Slot
from followup.services.who_may import only

STEP = "Changing a text"
CHANGED, GIVEN_UP = "text_changed", "text_given_up"
"""How the log calls what happened."""


class ChangedMeanwhile(FollowUpError):
    """Somebody else has changed it since the page was opened."""


@transaction.atomic
def change_text(slot: Slot, own: Text, *, seen: str, staff: Staff, now: dt.datetime) -> None:
    """Send `own` from now on. `seen`: when the text was last changed as its page said; empty: ours stood there.

    Raises FollowUpError at the field that is wrong, ChangedMeanwhile, NotYours.
    """
    only(staff, slot.practice.pk, Role.VET, Role.ADMINISTRATOR, step=STEP)
    for part in Part:
        if fault := fault_in(getattr(own, part.value), slot.ours, part):
            raise FollowUpError(fault, field=part.value)
    row = slot.row()
    if seen_of(row) != seen or not _written(slot, row, own, {"changed_by": staff, "changed_at": now}):
        raise ChangedMeanwhile("Somebody has changed this text meanwhile. Open the page anew and look at it first.")
    log(slot.practice, CHANGED, "own words", now=now, staff=staff, **_what(slot, row))


@transaction.atomic
def give_up_own_text(slot: Slot, *, staff: Staff, now: dt.datetime) -> bool:
    """Send ours from now on. False: that was so already. Raises NotYours."""
    only(staff, slot.practice.pk, Role.VET, Role.ADMINISTRATOR, step=STEP)
    row = slot.row()
    if row is None or not PracticeText.objects.filter(pk=row.pk).delete()[0]:
        return False
    log(slot.practice, GIVEN_UP, "back to our text", now=now, staff=staff, **_what(slot, row))
    return True


def seen_of(row: PracticeText | None) -> str:
    """What a page says of when its text was last changed."""
    return row.changed_at.isoformat() if row is not None else ""


def _written(slot: Slot, row: PracticeText | None, own: Text, who: dict[str, object]) -> bool:
    """Whether it was written: over the row that was read, or where there was none."""
    words = {**_words(own), **who}
    if row is not None:
        return PracticeText.objects.filter(pk=row.pk, changed_at=row.changed_at).update(**words) == 1
    place = {"practice": slot.practice, "key": slot.ours.key, "language": slot.language}
    return PracticeText.objects.get_or_create(**place, defaults=words)[1]


def _words(of: Text | PracticeText) -> dict[str, str]:
    return {part.value: getattr(of, part.value) for part in Part}


def _what(slot: Slot, old: PracticeText | None) -> dict[str, object]:
    """For the log: which text, and what stood there before; None: ours."""
    return {"key": slot.ours.key, "language": slot.language, "old": _words(old) if old is not None else None}
