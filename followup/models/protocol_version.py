"""A version of a protocol as one practice uses it. A plan keeps the version that it was compiled from."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice, Staff


class ProtocolVersion(models.Model):
    """`text` is the whole protocol, shared parts merged in. A draft until a vet of the practice approves it."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="protocol_versions")
    name = models.CharField(max_length=60)
    version = models.PositiveIntegerField()
    text = models.TextField()
    approved_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True)
    approved_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "name", "version"], name="one_row_per_protocol_version"),
            models.CheckConstraint(
                condition=models.Q(approved_by__isnull=True, approved_at__isnull=True)
                | models.Q(approved_by__isnull=False, approved_at__isnull=False),
                name="an_approval_has_a_vet_and_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}@{self.version}"
