"""What has changed in a plan, in sentences for the owner, in the language that is active."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from followup.domain.changes import MedicineChange, PlanChange
from followup.domain.compiled import Medicine
from followup.domain.dose_words import amount_in_words, strength_in_words
from followup.domain.hours import OwnerHours
from followup.services.advice import told_time


def change_words(change: PlanChange, hours: OwnerHours, *, now: dt.datetime) -> tuple[str, ...]:
    """One sentence for each medicine and one for the check-ins; empty: nothing changes for the owner."""
    return tuple(_sentences(change, hours, now))


def _sentences(change: PlanChange, hours: OwnerHours, now: dt.datetime) -> Iterator[str]:
    for each in change.medicines:
        yield _medicine(each, hours, now)
    if change.check_ins:
        yield _("We ask you at other times from now on.")


def _medicine(change: MedicineChange, hours: OwnerHours, now: dt.datetime) -> str:
    before, after = change.before, change.after
    if after is None:
        return _("%(drug)s: stop. Give no more of it.") % {"drug": change.drug}
    words = {
        "drug": _named(after),
        "amount": _amount(after),
        "was": _amount(before) if before is not None else "",
        "bottle": strength_in_words(before) if before is not None else "",
        "first": told_time(after.doses[0].at, hours, now=now),
        "doses": ngettext("%(number)d dose", "%(number)d doses", len(after.doses)) % {"number": len(after.doses)},
        "last": told_time(after.doses[-1].at, hours, now=now),
    }
    return _template(change) % words


def _template(change: MedicineChange) -> str:
    before, after = change.before, change.after
    if before is None:
        return _("%(drug)s: new. %(amount)s, first %(first)s, %(doses)s, the last %(last)s.")
    if after is not None and strength_in_words(before) != strength_in_words(after):
        return _(
            "%(drug)s: another bottle. %(amount)s of it, not %(was)s of the %(bottle)s. "
            "Next dose %(first)s, %(doses)s to come, the last %(last)s."
        )
    if change.amount_changed:
        return _(
            "%(drug)s: %(amount)s from now on, no longer %(was)s. "
            "Next dose %(first)s, %(doses)s to come, the last %(last)s."
        )
    return _("%(drug)s: next dose %(first)s, %(doses)s to come, the last %(last)s. Each %(amount)s as before.")


def _named(medicine: Medicine) -> str:
    return f"{medicine.drug} {strength_in_words(medicine)}".strip()


def _amount(medicine: Medicine) -> str:
    """What is drawn up; of a course with several amounts, each once in their order."""
    return ", ".join(dict.fromkeys(amount_in_words(dose) for dose in medicine.doses))
