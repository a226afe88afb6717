"""Patients: animals, who looks after them, and what they weighed."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models.owner import Owner
from clinic.models.practice import SPECIES, Practice
from clinic.models.staff import Staff

DAYS_PER_MONTH = 30.4375
"""A year of 365.25 days over 12."""


class Patient(models.Model):
    """An animal."""

    class Sex(models.TextChoices):
        """As on the record."""

        MALE = "male", "male"
        FEMALE = "female", "female"
        UNKNOWN = "unknown", "not known"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="patients")
    owner = models.ForeignKey(Owner, models.CASCADE, related_name="patients")
    name = models.CharField(max_length=80)
    species = models.CharField(max_length=12, choices=SPECIES)
    sex = models.CharField(max_length=8, choices=Sex.choices, default=Sex.UNKNOWN)
    born_on = models.DateField(null=True, blank=True)
    died_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["practice", "name"], name="patients_by_name")]

    def __str__(self) -> str:
        return self.name

    def age_months(self, on: dt.date) -> float | None:
        """Age in months on a date; None when the birth is not known."""
        return None if self.born_on is None else (on - self.born_on).days / DAYS_PER_MONTH


class Carer(models.Model):
    """A person who looks after a patient beside, or in place of, the owner."""

    patient = models.ForeignKey(Patient, models.CASCADE, related_name="carers")
    person = models.ForeignKey(Owner, models.CASCADE, related_name="cares_for")
    second = models.BooleanField(default=False, help_text="written to when the first is silent")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["patient", "person"], name="a_carer_once_per_patient"),
        ]

    def __str__(self) -> str:
        return f"{self.person} cares for {self.patient}"


class Weight(models.Model):
    """One weighing, in grams."""

    patient = models.ForeignKey(Patient, models.CASCADE, related_name="weights")
    grams = models.PositiveIntegerField()
    at = models.DateTimeField()
    at_home = models.BooleanField(default=False)
    recorded_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)

    class Meta:
        ordering = ["at"]
        constraints = [
            models.CheckConstraint(condition=models.Q(grams__gt=0), name="a_weight_is_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.patient} {self.grams} g"
