"""Which of the usual things owners read: those that a vet of the practice has approved, in ours or in own words."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from clinic.models import Practice, Role, Staff
from followup.domain.case import Case
from followup.domain.reading_grade import HARDEST, grade
from followup.domain.terms import FollowUpError
from followup.domain.usual import SOURCES, USUAL, Usual, usual_now
from followup.models import UsualWords
from followup.services.log import log
from followup.services.who_may import only

LONGEST = 300
"""Characters: an owner reads it at a glance."""
STEP = "Approving what owners read"


@dataclass(frozen=True)
class Proposal:
    """One usual thing, our words, and the row where a vet has approved it."""

    usual: Usual
    heading: str
    ours: str
    row: UsualWords | None

    @property
    def words(self) -> str:
        """As owners read it, or would."""
        return self.row.words if self.row is not None and self.row.words else self.ours

    @property
    def source(self) -> str:
        """Where the time comes from."""
        return SOURCES[self.usual.mark]

    @property
    def days(self) -> int:
        """How many days it is usual for."""
        return self.usual.until.days


@dataclass(frozen=True)
class ReadAsUsual:
    """What an owner reads."""

    heading: str
    words: str


def proposals(practice: Practice) -> list[Proposal]:
    """Every one, approved or not."""
    rows = {row.key: row for row in practice.usual_words.select_related("approved_by")}
    return [Proposal(each, _(each.heading), _(each.words), rows.get(each.key)) for each in USUAL]


def usual_for(practice: Practice, case: Case, *, now: dt.datetime) -> tuple[ReadAsUsual, ...]:
    """Approved, of this patient, at `now`."""
    rows = {row.key: row for row in practice.usual_words.all()}
    fitting = [each for each in usual_now(case, now) if each.key in rows]
    return tuple(ReadAsUsual(_(each.heading), rows[each.key].words or _(each.words)) for each in fitting)


@transaction.atomic
def approve(practice: Practice, usual: Usual, words: str, *, staff: Staff, now: dt.datetime) -> None:
    """Let owners read it, in these words; empty or the same: in ours. Raises FollowUpError."""
    only(staff, practice.pk, Role.VET, step=STEP)
    own = " ".join(words.split())
    if len(own) > LONGEST:
        raise FollowUpError(f"This has {len(own)} characters; {LONGEST} are the most.", field="words")
    if own and grade(own) > HARDEST:
        raise FollowUpError(
            f"This reads like school grade {grade(own):.1f}; {HARDEST:g} is the most: shorter sentences and words.",
            field="words",
        )
    kept = "" if own == usual.words else own
    facts = {"words": kept, "approved_by": staff, "approved_at": now}
    UsualWords.objects.update_or_create(practice=practice, key=usual.key, defaults=facts)
    log(practice, "usual_approved", f"{usual.heading}: owners read it", now=now, staff=staff, key=usual.key, words=kept)


@transaction.atomic
def take_back(practice: Practice, usual: Usual, *, staff: Staff, now: dt.datetime) -> None:
    """Owners read it no more."""
    only(staff, practice.pk, Role.VET, step=STEP)
    if UsualWords.objects.filter(practice=practice, key=usual.key).delete()[0]:
        log(practice, "usual_taken_back", f"{usual.heading}: owners read it no more", now=now, staff=staff)
