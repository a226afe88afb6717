"""Owner, patient, carer and consents of an enrolment as records: found, or made."""

from __future__ import annotations

import datetime as dt

from clinic.models import Carer, Consent, Owner, Patient, Practice, Staff, Weight
from followup.domain.terms import FollowUpError
from followup.models import Recipient
from followup.services.draft import NewOwner, NewPatient, NewRecovery
from followup.services.links import recipient_for


class AlreadyKnown(FollowUpError):
    """This owner has a patient of that name and species on record."""


def owner_row(practice: Practice, owner: Owner | NewOwner, *, now: dt.datetime) -> Owner:
    """The owner's record, made when there is none yet."""
    if isinstance(owner, Owner):
        return owner
    return Owner.objects.create(
        practice=practice,
        name=owner.name,
        mobile=owner.mobile,
        email=owner.email,
        landline=owner.landline,
        language=owner.language,
        time_zone=owner.time_zone,
        wakes=owner.wakes,
        sleeps=owner.sleeps,
        away=list(owner.away),
        created_at=now,
    )


def patient_row(owner: Owner, patient: Patient | NewPatient) -> Patient:
    """The patient's record, made when there is none yet. Raises AlreadyKnown."""
    if isinstance(patient, Patient):
        return patient
    if owner.patients.filter(name__iexact=patient.name, species=patient.species, died_at__isnull=True).exists():
        raise AlreadyKnown(
            f"{owner} has a patient named {patient.name} on record. Choose it from the list.", field="patient.name"
        )
    return Patient.objects.create(
        practice_id=owner.practice_id,
        owner=owner,
        name=patient.name,
        species=patient.species,
        sex=patient.sex,
        born_on=patient.born_on,
    )


def keep_weight(patient: Patient, grams: float, *, at: dt.datetime, staff: Staff) -> None:
    """The weight at discharge, beside the earlier ones."""
    Weight.objects.create(patient=patient, grams=round(grams), at=at, recorded_by=staff)


def keep_consents(owner: Owner, consents: dict[str, bool], *, staff: Staff, now: dt.datetime) -> None:
    """Each word as an event. An owner who is not to be contacted is phoned instead of written to."""
    for kind, given in consents.items():
        Consent.objects.create(
            practice_id=owner.practice_id, owner=owner, kind=kind, given=given, at=now, recorded_by=staff
        )
    contact = consents.get(Consent.Kind.TO_BE_CONTACTED)
    if contact is not None:
        recipient = recipient_for(owner.practice, owner, now=now)
        how = "" if contact else Recipient.How.ENROLMENT
        Recipient.objects.filter(pk=recipient.pk).update(stopped_at=None if contact else now, stopped_how=how)


def keep_carer(request: NewRecovery, patient: Patient, *, now: dt.datetime) -> None:
    """Who looks after the patient in the owner's place, or is written to when the owner is silent."""
    if request.carer is None:
        return
    person = owner_row(request.practice, request.carer, now=now)
    Carer.objects.update_or_create(patient=patient, person=person, defaults={"second": request.carer_is_second})
