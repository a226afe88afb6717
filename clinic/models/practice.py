"""A practice: where patients are treated, when it is open, and who answers when it is not."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

SPECIES = (
    ("guinea_pig", "guinea pig"),
    ("rabbit", "rabbit"),
    ("cat", "cat"),
    ("dog", "dog"),
    ("ferret", "ferret"),
    ("rat", "rat"),
)
WEEKDAYS = (
    (0, "Monday"),
    (1, "Tuesday"),
    (2, "Wednesday"),
    (3, "Thursday"),
    (4, "Friday"),
    (5, "Saturday"),
    (6, "Sunday"),
)
JURISDICTIONS = (("eu_uk", "EU or UK"), ("us", "United States"), ("other", "other"))
A_FORTNIGHT = 14


class Practice(models.Model):
    """One clinic. Everything else in the database belongs to exactly one of these.

    `messages_paused`: nothing goes to owners; since when, by whom and why, while it lasts.
    """

    slug = models.SlugField(unique=True)
    name = models.CharField(max_length=120)
    address = models.TextField()
    phone = PhoneNumberField()
    email = models.EmailField(blank=True)
    time_zone = models.CharField(max_length=64, default="Europe/London")
    languages = models.JSONField(default=list)
    jurisdiction = models.CharField(max_length=8, choices=JURISDICTIONS, default="eu_uk")
    messages_paused = models.BooleanField(default=False)
    paused_at = models.DateTimeField(null=True, blank=True)
    paused_by = models.ForeignKey("clinic.Staff", models.PROTECT, null=True, blank=True, related_name="+")
    paused_why = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        """The practice's time zone."""
        return ZoneInfo(self.time_zone)

    def opening(self, day: dt.date) -> tuple[dt.datetime, dt.datetime] | None:
        """From when to when the practice is open on `day`; None when it is closed. An exception beats the week."""
        exception = next((e for e in self.opening_exceptions.all() if e.date == day), None)
        hours = exception or next((h for h in self.opening_hours.all() if h.weekday == day.weekday()), None)
        if hours is None or hours.opens is None or hours.closes is None:
            return None
        zone = self.zone
        return (
            dt.datetime.combine(day, hours.opens, tzinfo=zone),
            dt.datetime.combine(day, hours.closes, tzinfo=zone),
        )

    def openings(self, since: dt.datetime, *, days: int = A_FORTNIGHT) -> list[tuple[dt.datetime, dt.datetime]]:
        """From when to when it is open, from the day of `since` on, for so many days."""
        today = since.astimezone(self.zone).date()
        found = (self.opening(today + dt.timedelta(days=ahead)) for ahead in range(days + 1))
        return [hours for hours in found if hours is not None]

    def is_open(self, now: dt.datetime) -> bool:
        """Whether somebody is there at `now`."""
        hours = self.opening(now.astimezone(self.zone).date())
        return hours is not None and hours[0] <= now < hours[1]

    def next_opening(self, now: dt.datetime) -> dt.datetime | None:
        """When the practice opens next after `now`; None when it does not within two weeks."""
        today = now.astimezone(self.zone).date()
        for ahead in range(A_FORTNIGHT):
            hours = self.opening(today + dt.timedelta(days=ahead))
            if hours is not None and hours[0] > now:
                return hours[0]
        return None

    def provider_for(self, species: str) -> OutOfHoursProvider | None:
        """Who treats this species when the practice is closed."""
        return next((p for p in self.providers.all() if p.species == species), None)


class OpeningHours(models.Model):
    """One weekday's hours. No row: closed."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="opening_hours")
    weekday = models.PositiveSmallIntegerField(choices=WEEKDAYS)
    opens = models.TimeField()
    closes = models.TimeField()

    class Meta:
        ordering = ["weekday"]
        constraints = [
            models.UniqueConstraint(fields=["practice", "weekday"], name="one_opening_per_weekday"),
            models.CheckConstraint(condition=models.Q(opens__lt=models.F("closes")), name="opens_before_it_closes"),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M} to {self.closes:%H:%M}"


class OpeningException(models.Model):
    """One date that differs from the week. No times: closed all day."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="opening_exceptions")
    date = models.DateField()
    opens = models.TimeField(null=True, blank=True)
    closes = models.TimeField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["date"]
        constraints = [
            models.UniqueConstraint(fields=["practice", "date"], name="one_exception_per_date"),
            models.CheckConstraint(
                condition=models.Q(opens__isnull=True, closes__isnull=True) | models.Q(opens__lt=models.F("closes")),
                name="an_exception_is_closed_or_opens_before_it_closes",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.date}: {self.note or self.opens or 'closed'}"


class OutOfHoursProvider(models.Model):
    """Who answers and treats one species when the practice is closed."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="providers")
    species = models.CharField(max_length=12, choices=SPECIES)
    name = models.CharField(max_length=120)
    phone = PhoneNumberField()
    second_phone = PhoneNumberField(blank=True)
    address = models.TextField()
    last_checked_on = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "species"], name="one_provider_per_species"),
        ]

    def __str__(self) -> str:
        return f"{self.name} for {self.get_species_display()}"
