"""What kind of animal it is, as an owner reads it beside the name."""

from __future__ import annotations

from django.utils.translation import gettext as _

from clinic.models import Patient


def kind_of(patient: Patient) -> str:
    """ "male guinea pig"; the species alone where the sex is not known."""
    words = {"species": patient.get_species_display()}
    if patient.sex == Patient.Sex.MALE:
        return _("male %(species)s") % words
    return _("female %(species)s") % words if patient.sex == Patient.Sex.FEMALE else words["species"]
