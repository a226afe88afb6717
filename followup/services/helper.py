"""Someone who helps: a second carer whom the owner adds himself, with a link of his own.

We write to nobody whom only somebody else has named: the owner hands the link on. The helper gets a message when the
owner is silent and it is urgent, as every second carer does.
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from clinic.models import Carer, Consent
from followup.domain.terms import FollowUpError
from followup.models import Plan, Recipient
from followup.services.draft import NewOwner
from followup.services.links import recipient_for
from followup.services.log import log
from followup.services.register import owner_row

MOST = 3
"""Helpers of one patient; more than a household that takes turns (ours)."""


@transaction.atomic
def add_helper(plan: Plan, helper: NewOwner, *, by: Recipient, now: dt.datetime) -> Recipient:
    """A new second carer. Raises FollowUpError."""
    helpers = plan.patient.carers.select_for_update().filter(second=True)
    known = helpers.filter(person__name__iexact=helper.name).first()
    if known is not None:
        return recipient_for(plan.practice, known.person, part=Recipient.Part.SECOND_CARER, now=now)
    if helpers.count() >= MOST:
        raise FollowUpError(_("There are three already. Take one away first, or phone us."), field="name")
    person = owner_row(plan.practice, helper, now=now)
    Consent.objects.create(practice=plan.practice, owner=person, kind=Consent.Kind.TO_BE_CONTACTED, given=True, at=now)
    Carer.objects.create(patient=plan.patient, person=person, second=True)
    log(plan, "helper_added", f"{by.person} added {person}, who helps", now=now)
    return recipient_for(plan.practice, person, part=Recipient.Part.SECOND_CARER, now=now)


@transaction.atomic
def take_helper_away(plan: Plan, pk: int, *, by: Recipient, now: dt.datetime) -> None:
    """He sees this patient no more. Whoever is no helper of this patient is left alone."""
    carer = plan.patient.carers.filter(second=True, person_id=pk).select_related("person").first()
    if carer is None:
        return
    carer.delete()
    log(plan, "helper_taken_away", f"{by.person} took {carer.person} away", now=now)


def helpers_of(plan: Plan, *, now: dt.datetime) -> list[Recipient]:
    """Each with his link."""
    carers = plan.patient.carers.filter(second=True).select_related("person").order_by("pk")
    return [recipient_for(plan.practice, carer.person, part=Recipient.Part.SECOND_CARER, now=now) for carer in carers]
