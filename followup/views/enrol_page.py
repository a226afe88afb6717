"""What the enrolment page offers to choose from, and what it carries on unseen."""

from __future__ import annotations

from django.http import QueryDict

from clinic.models import Membership, Owner, Practice, Role
from followup.protocols.load_formulary import formulary
from followup.services.draft import NewRecovery

MOST_SHOWN = 12
NOT_CARRIED = frozenset({"csrfmiddlewaretoken", "action"})


def owners_like(practice: Practice, words: str) -> list[Owner]:
    """Owners by name or phone, with their patients."""
    if not words:
        return []
    found = Owner.objects.of(practice).like(words).prefetch_related("patients").order_by("name")
    return list(found[:MOST_SHOWN])


def same_number(recovery: NewRecovery) -> list[Owner]:
    """People on record with the mobile of a new owner: perhaps the same person, written down twice."""
    if isinstance(recovery.owner, Owner) or not recovery.owner.mobile:
        return []
    return list(Owner.objects.of(recovery.practice).filter(mobile=recovery.owner.mobile))


def lists_of(practice: Practice) -> dict[str, list[str]]:
    """Names to choose from while typing: the practice's vets, and the drugs of the formulary."""
    vets = Membership.objects.current().filter(practice=practice, role=Role.VET).select_related("staff")
    drugs = sorted({row.drug for row in formulary().rows})
    return {"vets": [str(each.staff) for each in vets], "drugs": drugs}


def retyped(typed: QueryDict) -> list[tuple[str, str]]:
    """Everything that was typed, to be posted again unseen."""
    return [(name, value) for name, values in typed.lists() if name not in NOT_CARRIED for value in values]
