"""A recipient: one person's link to the follow-ups he answers for at one practice."""

from __future__ import annotations

from django.db import models

from clinic.models import Owner, Practice


class Recipient(models.Model):
    """The code in the link is made from `nonce` and the key numbered `key_number`, which is not in the database.

    `stopped_at`: since when the person gets no messages, because he asked for none; None: he gets them.
    """

    class Part(models.TextChoices):
        """What the person is to the patients."""

        OWNER = "owner", "owner"
        CARER = "carer", "carer"
        SECOND_CARER = "second_carer", "second carer"

    class How(models.TextChoices):
        """How somebody asked for no messages, or for messages again."""

        LINK = "link", "on their page"
        ONE_CLICK = "one_click", "by their mail program's button"
        PHONE = "phone", "told to staff"
        ENROLMENT = "enrolment", "at enrolment"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="recipients")
    person = models.ForeignKey(Owner, models.CASCADE, related_name="recipients")
    part = models.CharField(max_length=12, choices=Part.choices, default=Part.OWNER)
    nonce = models.CharField(max_length=24, unique=True)
    key_number = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True, blank=True)
    stopped_how = models.CharField(max_length=10, choices=How.choices, blank=True, default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "person"], name="one_link_per_person_and_practice"),
        ]

    def __str__(self) -> str:
        return f"{self.person} ({self.get_part_display()})"
