"""A practice's own words for one kind of message, in one language. No row: ours."""

from __future__ import annotations

from django.db import models

from clinic.models import Practice, Staff


class PracticeTextQuerySet(models.QuerySet["PracticeText"]):
    """Questions about a practice's own texts."""

    def of(self, practice: Practice, language: str) -> PracticeTextQuerySet:
        """Of one practice, in one language."""
        return self.filter(practice=practice, language=language)


class PracticeText(models.Model):
    """`key` is that of a text in followup/domain/wording.py. An empty `short`: our text message is sent."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="texts")
    key = models.CharField(max_length=40)
    language = models.CharField(max_length=8)
    subject = models.TextField()
    body = models.TextField()
    short = models.TextField(blank=True, default="")
    changed_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    changed_at = models.DateTimeField()

    objects = PracticeTextQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "key", "language"], name="one_own_text_per_language"),
        ]

    def __str__(self) -> str:
        return f"{self.key} of {self.practice} in {self.language}"


class UsualWords(models.Model):
    """What a vet of the practice lets owners read as usual. `key`: of followup/domain/usual.py. No row: not shown.

    `words` empty: ours, translated.
    """

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="usual_words")
    key = models.CharField(max_length=40)
    words = models.TextField(blank=True, default="")
    approved_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    approved_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "usual words"
        constraints = [
            models.UniqueConstraint(fields=["practice", "key"], name="one_usual_text_of_a_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.key} of {self.practice}"
