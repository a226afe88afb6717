"""Owners and carers: people we write to. The same human at two practices is two owners."""

from __future__ import annotations

import datetime as dt

from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from clinic.models.practice import Practice
from clinic.models.staff import Staff


class OwnerQuerySet(models.QuerySet["Owner"]):
    """Questions about the people we write to."""

    def of(self, practice: Practice) -> OwnerQuerySet:
        """Of one practice."""
        return self.filter(practice=practice)

    def like(self, words: str) -> OwnerQuerySet:
        """Whose name holds `words`, or whose phone holds their digits."""
        digits = "".join(c for c in words if c.isdigit()).lstrip("0")
        match = models.Q(name__icontains=words.strip())
        if digits:
            match |= models.Q(mobile__contains=digits) | models.Q(landline__contains=digits)
        return self.filter(match)


class Owner(models.Model):
    """A person who owns or looks after patients of this practice. A landline gets calls, never text messages."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="owners")
    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    mobile = PhoneNumberField(blank=True)
    landline = PhoneNumberField(blank=True)
    language = models.CharField(max_length=8, default="en")
    time_zone = models.CharField(max_length=64)
    wakes = models.TimeField(default=dt.time(7))
    sleeps = models.TimeField(default=dt.time(22))
    away = models.JSONField(default=list, blank=True)
    created_at = models.DateTimeField()

    objects = OwnerQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["practice", "name"], name="owners_by_name")]

    def __str__(self) -> str:
        return self.name

    @property
    def phone(self) -> str:
        """The number that staff ring."""
        return str(self.mobile or self.landline or "")

    def agrees(self, kind: str) -> bool:
        """Whether the newest word of this owner about `kind` is a yes. Never asked: no."""
        said = [c for c in self.consents.all() if c.kind == kind]
        return bool(said) and max(said, key=lambda c: (c.at, c.pk)).given


class Consent(models.Model):
    """One word of an owner about one thing. Events, never overwritten: the newest counts."""

    class Kind(models.TextChoices):
        """What may be agreed to."""

        TO_BE_CONTACTED = "to_be_contacted", "to be contacted"
        PHOTOS = "photos", "photos"
        OFF_LABEL_USE = "off_label_use", "off-label use"
        WAKE_ME_AT_NIGHT = "wake_me_at_night", "wake me at night"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="consents")
    owner = models.ForeignKey(Owner, models.CASCADE, related_name="consents")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    given = models.BooleanField()
    at = models.DateTimeField()
    recorded_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["owner", "kind", "at"], name="consents_of_an_owner")]

    def __str__(self) -> str:
        return f"{self.owner}: {'yes' if self.given else 'no'} to {self.get_kind_display()}"
