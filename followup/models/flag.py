"""A flag: we must look. It gathers the findings of one concern of one patient until a person has dealt with it."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice, Staff
from followup.domain.terms import Concern, Level
from followup.models.plan import Plan
from followup.models.verdict import Verdict

_LEVELS = [(each.value, each.word) for each in Level]

NOT_WEIGHED = "not_weighed"
"""The concern of a flag that no rule opened: the rules themselves could not be weighed, so a person must."""


class FlagQuerySet(models.QuerySet["Flag"]):
    """Questions about flags."""

    def of(self, practice: Practice) -> FlagQuerySet:
        """Of one practice."""
        return self.filter(practice=practice)

    def open(self) -> FlagQuerySet:
        """Not yet reviewed, nor settled by a good answer."""
        return self.filter(state=Flag.State.OPEN)

    def to_alert(self, now: dt.datetime) -> FlagQuerySet:
        """Emergencies and urgent cases whose next alert to staff is due."""
        return self.open().filter(next_alert_at__lte=now)

    def for_second_carers(self, now: dt.datetime) -> FlagQuerySet:
        """Those of which a second carer is to hear by now, if the first has been silent."""
        return self.open().filter(second_carer_at__lte=now)

    def by_rules(self) -> FlagQuerySet:
        """Opened by a verdict, and not because there was none."""
        return self.exclude(concern=NOT_WEIGHED)


class Flag(models.Model):
    """`level` follows the answers; `worst` never falls. What was ever urgent or emergency only a person closes.

    `step` counts the alerts of the present round; `next_alert_at` None: nobody is to be alerted. `speak_by`: of an
    urgent case, by when somebody has spoken to the owner. `second_carer_at`: when a second carer is written to, should
    the first be silent until then.

    `judged_level` is what it really was, by whoever reviewed it (None: reviewed before this was asked), beside `worst`
    and `level`, which stand still from the review on. `judged_verdict` is the verdict that `worst` rests on.
    """

    class State(models.TextChoices):
        """A flag's life."""

        OPEN = "open", "open"
        SETTLED = "settled", "settled by a good answer"
        REVIEWED = "reviewed", "reviewed"
        ENDED = "ended", "ended with the follow-up"

    class Outcome(models.TextChoices):
        """What came of an emergency's alert."""

        SPOKEN_TO = "spoken_to", "spoken to"
        SENT_TO = "sent_to", "sent to a vet"
        NOT_REACHED = "not_reached", "could not reach, twice"
        FALSE_ALARM = "false_alarm", "false alarm"

    IN_HANDS = (Outcome.SPOKEN_TO, Outcome.SENT_TO, Outcome.FALSE_ALARM)
    """With these somebody has spoken to whoever looks after the animal."""

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="flags")
    plan = models.ForeignKey(Plan, models.CASCADE, related_name="flags")
    concern = models.CharField(
        max_length=12, choices=[*((c.value, c.value) for c in Concern), (NOT_WEIGHED, "rules not weighed")]
    )
    level = models.PositiveSmallIntegerField(choices=_LEVELS)
    worst = models.PositiveSmallIntegerField(choices=_LEVELS)
    because = models.TextField()
    rules = models.JSONField(default=list)
    count = models.PositiveIntegerField(default=1)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    opened_at = models.DateTimeField()
    raised_at = models.DateTimeField()
    updated_at = models.DateTimeField()
    step = models.PositiveSmallIntegerField(default=0)
    round_began_at = models.DateTimeField(null=True, blank=True)
    next_alert_at = models.DateTimeField(null=True, blank=True)
    speak_by = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="flags_acknowledged")
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=12, choices=Outcome.choices, blank=True)
    outcome_note = models.TextField(blank=True)
    outcome_at = models.DateTimeField(null=True, blank=True)
    owner_told = models.TextField(blank=True)
    owner_told_at = models.DateTimeField(null=True, blank=True)
    second_carer_at = models.DateTimeField(null=True, blank=True)
    reviewed_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="flags_reviewed")
    reviewed_at = models.DateTimeField(null=True, blank=True)
    found = models.TextField(blank=True)
    done = models.TextField(blank=True)
    look_again_at = models.DateTimeField(null=True, blank=True)
    judged_level = models.PositiveSmallIntegerField(choices=_LEVELS, null=True, blank=True)
    judged_verdict = models.ForeignKey(Verdict, models.SET_NULL, null=True, blank=True, related_name="flags_judged")
    judged_protocol = models.CharField(max_length=80, blank=True)

    objects = FlagQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["practice"], condition=models.Q(state="open"), name="open_flags"),
            models.Index(
                fields=["next_alert_at"],
                condition=models.Q(state="open"),
                name="flags_to_alert",
            ),
            models.Index(
                fields=["second_carer_at"],
                condition=models.Q(state="open"),
                name="flags_for_second_carers",
            ),
            models.Index(
                fields=["practice", "reviewed_at"], condition=models.Q(state="reviewed"), name="flags_by_review"
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "concern"],
                condition=models.Q(state="open"),
                name="one_open_flag_per_concern",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="reviewed") | models.Q(reviewed_at__isnull=False),
                name="a_reviewed_flag_has_its_time",
            ),
            models.CheckConstraint(
                condition=models.Q(judged_level__isnull=True) | models.Q(state="reviewed"),
                name="only_a_reviewed_flag_was_judged",
            ),
            models.CheckConstraint(
                condition=models.Q(worst__gte=models.F("level")),
                name="the_worst_is_never_milder_than_now",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_level_display()}: {self.concern}"
