"""Staff: people who log in, what they are at each practice, and who is on call when."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from clinic.models.practice import Practice


class Role(models.TextChoices):
    """What a member of staff may do at one practice."""

    FRONT_DESK = "front_desk", "front desk"
    NURSE = "nurse", "nurse"
    VET = "vet", "vet"
    ADMINISTRATOR = "administrator", "administrator"


class StaffQuerySet(BaseUserManager["Staff"]):
    """How Django's login finds a member of staff."""

    def get_by_natural_key(self, username: str | None) -> Staff:
        """By e-mail, whatever its case."""
        return self.get(email__iexact=username)


class Staff(AbstractBaseUser):
    """One human who logs in, once per installation. What he may do is in his memberships."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    mobile = PhoneNumberField(blank=True)
    is_active = models.BooleanField(default=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    objects = StaffQuerySet()

    def __str__(self) -> str:
        return self.name


class MembershipQuerySet(models.QuerySet["Membership"]):
    """Questions about who belongs where."""

    def current(self) -> MembershipQuerySet:
        """Of people who still work here."""
        return self.filter(active=True, staff__is_active=True)

    def of(self, staff: Staff) -> MembershipQuerySet:
        """One person's."""
        return self.current().filter(staff=staff).select_related("practice")


class Membership(models.Model):
    """A member of staff at a practice, with one role there."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="memberships")
    staff = models.ForeignKey(Staff, models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=16, choices=Role.choices)
    active = models.BooleanField(default=True)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "staff"], name="one_membership_per_practice"),
        ]

    def __str__(self) -> str:
        return f"{self.staff}, {self.get_role_display()} at {self.practice}"


class SetUpCodeQuerySet(models.QuerySet["SetUpCode"]):
    """Questions about invitations."""

    def usable(self, now: dt.datetime) -> SetUpCodeQuerySet:
        """Neither used nor run out."""
        return self.filter(used_at__isnull=True, expires_at__gt=now)


class SetUpCode(models.Model):
    """A one-time code with which a new member of staff chooses a password. Only its hash is kept."""

    staff = models.ForeignKey(Staff, models.CASCADE, related_name="set_up_codes")
    code_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    objects = SetUpCodeQuerySet.as_manager()

    def __str__(self) -> str:
        return f"set-up code of {self.staff}"


class OnCallShiftQuerySet(models.QuerySet["OnCallShift"]):
    """Questions about the rota."""

    def of_those_who_work_at(self, practice: Practice) -> OnCallShiftQuerySet:
        """Of one practice. Who has left it is alerted no more, whatever the rota still says."""
        here = Membership.objects.current().filter(practice=practice)
        return self.filter(practice=practice, staff__in=here.values("staff"))

    def at(self, practice: Practice, now: dt.datetime) -> OnCallShiftQuerySet:
        """Who is on call at `now`, first to be called first."""
        return (
            self.of_those_who_work_at(practice)
            .filter(starts_at__lte=now, ends_at__gt=now)
            .select_related("staff")
            .order_by("position", "starts_at", "pk")
        )

    def between(self, practice: Practice, since: dt.datetime, until: dt.datetime) -> OnCallShiftQuerySet:
        """Every shift of somebody who still works that holds any moment of since <= t < until, in order."""
        return (
            self.of_those_who_work_at(practice)
            .filter(starts_at__lt=until, ends_at__gt=since)
            .select_related("staff")
            .order_by("starts_at", "position", "pk")
        )


MEDIA = (("email", "e-mail"), ("sms", "text message"))
"""By what somebody on call can be alerted."""


class OnCallShift(models.Model):
    """From when to when one person is on call; the lowest position is called first.

    `media`: by which ways he wants to be alerted, the first one first; empty: e-mail, then a text message.
    """

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="on_call_shifts")
    staff = models.ForeignKey(Staff, models.CASCADE, related_name="on_call_shifts")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    position = models.PositiveSmallIntegerField(default=1)
    media = models.JSONField(default=list, blank=True)

    objects = OnCallShiftQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["practice", "ends_at"], name="on_call_now")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(starts_at__lt=models.F("ends_at")),
                name="a_shift_starts_before_it_ends",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.staff} on call from {self.starts_at} to {self.ends_at}"
