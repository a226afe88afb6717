"""Messages: the outbox. The table is the schedule; a broker holds nothing that matters."""

from __future__ import annotations

import datetime as dt

from django.db import models

from clinic.models import Practice, Staff
from followup.models.check_in import CheckIn
from followup.models.dose import Dose
from followup.models.flag import Flag
from followup.models.plan import Plan
from followup.models.recipient import Recipient


class MessageQuerySet(models.QuerySet["Message"]):
    """Questions about the outbox."""

    def due(self, now: dt.datetime) -> MessageQuerySet:
        """Ready, and neither too early nor too late to send."""
        return self.filter(state=Message.State.READY, not_before__lte=now, expires_at__gt=now)

    def run_out(self, now: dt.datetime) -> MessageQuerySet:
        """Ready, but no longer worth sending."""
        return self.filter(state=Message.State.READY, expires_at__lte=now)

    def lease_lost(self, now: dt.datetime) -> MessageQuerySet:
        """Taken by a worker that never reported back."""
        return self.filter(state=Message.State.LEASED, lease_until__lt=now)

    def not_gone(self) -> MessageQuerySet:
        """Ready, or leased to a worker that has not begun to hand it in: what can still be called off."""
        return self.filter(state__in=[Message.State.READY, Message.State.LEASED], begun_at__isnull=True)

    def whose_person_is_free(self) -> MessageQuerySet:
        """To owners to whom no other message is on its way by the same medium; alerts wait for nobody."""
        on_its_way = Message.objects.filter(
            state=Message.State.LEASED, recipient=models.OuterRef("recipient"), medium=models.OuterRef("medium")
        )
        return self.filter(~models.Exists(on_its_way) | ~models.Q(audience=Message.Audience.OWNER))

    def to_owners(self) -> MessageQuerySet:
        """Not to staff."""
        return self.filter(audience=Message.Audience.OWNER)


class Message(models.Model):
    """One message to one person. `body` holds `{link}` where the owner's link goes; it is filled in when it is sent.

    `chain_key` is the key of the first of those that stand for one another (another medium, another person): one of
    them at most is open. `begun_at`: when the worker that has it began to hand it in; until then it can be recalled.
    """

    class Audience(models.TextChoices):
        """To whom."""

        OWNER = "owner", "owner"
        STAFF = "staff", "staff"
        LOOP = "loop", "this program itself"

    class Medium(models.TextChoices):
        """By which way. The tray is where messages land when no provider is set up; a chat is a room of the staff."""

        EMAIL = "email", "e-mail"
        SMS = "sms", "text message"
        CHAT = "chat", "chat of the staff"

    class State(models.TextChoices):
        """A message's life."""

        READY = "ready", "ready"
        LEASED = "leased", "being sent"
        SENT = "sent", "sent"
        FAILED = "failed", "failed"
        PARKED = "parked", "parked for a person"
        EXPIRED = "expired", "expired"
        SUPERSEDED = "superseded", "superseded"
        CANCELLED = "cancelled", "cancelled"

    class Purpose(models.TextChoices):
        """Why it is written; texts and expiry hang on this."""

        WELCOME = "welcome", "first message"
        CHECK_IN = "check_in", "check-in"
        DOSE = "dose", "dose"
        REMINDER = "reminder", "reminder"
        ADVICE = "advice", "advice"
        NEWS = "news", "news from the clinic"
        GOODBYE = "goodbye", "end of follow-up"
        ALERT = "alert", "alert to staff"
        CANARY = "canary", "look whether sending works"

    practice = models.ForeignKey(Practice, models.CASCADE, related_name="messages")
    plan = models.ForeignKey(Plan, models.CASCADE, null=True, blank=True, related_name="messages")
    audience = models.CharField(max_length=8, choices=Audience.choices)
    recipient = models.ForeignKey(Recipient, models.CASCADE, null=True, blank=True, related_name="messages")
    staff = models.ForeignKey(Staff, models.CASCADE, null=True, blank=True, related_name="messages")
    flag = models.ForeignKey(Flag, models.SET_NULL, null=True, blank=True, related_name="messages")
    check_ins = models.ManyToManyField(CheckIn, related_name="messages", blank=True)
    doses = models.ManyToManyField(Dose, related_name="messages", blank=True)
    medium = models.CharField(max_length=8, choices=Medium.choices)
    purpose = models.CharField(max_length=12, choices=Purpose.choices)
    key = models.CharField(max_length=200, unique=True)
    chain_key = models.CharField(max_length=200, blank=True, default="")  # of a message and what was sent in its place
    collapse_key = models.CharField(max_length=200, blank=True)
    priority = models.PositiveSmallIntegerField(default=5)
    subject = models.TextField()  # names of several animals and of the practice, as long as they are
    body = models.TextField()
    short = models.TextField(blank=True, default="")  # the same as a text message; empty: the body
    language = models.CharField(max_length=8, default="en")
    state = models.CharField(max_length=12, choices=State.choices, default=State.READY)
    due_at = models.DateTimeField()
    not_before = models.DateTimeField()
    expires_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    max_attempts = models.PositiveSmallIntegerField(default=6)
    unknown_outcomes = models.PositiveSmallIntegerField(default=0)
    lease_owner = models.CharField(max_length=60, blank=True)
    lease_token = models.UUIDField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    begun_at = models.DateTimeField(null=True, blank=True)
    message_id = models.CharField(max_length=320, blank=True)  # ends with our host name, which may have 253
    last_error_class = models.CharField(max_length=12, blank=True)
    last_error = models.TextField(blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_through = models.CharField(max_length=20, blank=True)

    objects = MessageQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(
                fields=["audience", "medium", "priority", "not_before", "id"],
                condition=models.Q(state="ready"),
                name="messages_to_claim",
            ),
            models.Index(
                fields=["expires_at"],
                condition=models.Q(state="ready"),
                name="messages_to_expire",
            ),
            models.Index(
                fields=["lease_until"],
                condition=models.Q(state="leased"),
                name="messages_being_sent",
            ),
            models.Index(fields=["practice", "-due_at"], name="messages_of_a_practice"),
            models.Index(
                fields=["practice", "not_before"], condition=models.Q(state="ready"), name="messages_that_wait"
            ),
            models.Index(
                fields=["practice", "-due_at"], condition=models.Q(audience="loop"), name="messages_to_itself"
            ),
            models.Index(fields=["recipient", "-sent_at"], condition=models.Q(state="sent"), name="messages_that_went"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(audience="owner", recipient__isnull=False, staff__isnull=True)
                | models.Q(audience="staff", recipient__isnull=True, staff__isnull=False)
                | models.Q(audience="loop", recipient__isnull=True, staff__isnull=True),
                name="a_message_goes_to_an_owner_or_to_staff",
            ),
            models.UniqueConstraint(
                fields=["recipient", "medium"],
                condition=models.Q(state="leased", audience="owner"),
                name="one_message_on_its_way_to_an_owner",
            ),
            models.UniqueConstraint(
                fields=["chain_key"],
                condition=models.Q(state__in=["ready", "leased"]) & ~models.Q(chain_key=""),
                name="one_open_message_per_chain",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="ready")
                | models.Q(due_at__lte=models.F("not_before"), not_before__lte=models.F("expires_at")),
                name="a_ready_message_can_still_go",
            ),
            models.CheckConstraint(
                condition=models.Q(state="leased", lease_token__isnull=False, lease_until__isnull=False)
                | (~models.Q(state="leased") & models.Q(lease_token__isnull=True, lease_until__isnull=True)),
                name="only_a_leased_message_has_a_lease",
            ),
            models.CheckConstraint(
                condition=models.Q(state="leased") | models.Q(begun_at__isnull=True),
                name="only_a_leased_message_has_begun",
            ),
            models.CheckConstraint(
                condition=models.Q(state="sent", sent_at__isnull=False)
                | (~models.Q(state="sent") & models.Q(sent_at__isnull=True)),
                name="a_sent_message_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} {self.pk}"


class SendAttempt(models.Model):
    """One try at sending. Append-only; never holds an address."""

    class Outcome(models.TextChoices):
        """What is known of the try. Unknown: it may have gone out."""

        OK = "ok", "ok"
        TRANSIENT = "transient", "not now"
        PERMANENT = "permanent", "never"
        UNKNOWN = "unknown", "unknown"
        CONFIG = "config", "wrong set-up"
        STALE = "stale", "lease lost"

    message = models.ForeignKey(Message, models.CASCADE, related_name="send_attempts")
    number = models.PositiveSmallIntegerField()
    lease_token = models.UUIDField()
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    outcome = models.CharField(max_length=10, choices=Outcome.choices, blank=True)
    text = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["message", "number"], name="one_row_per_send_attempt"),
        ]

    def __str__(self) -> str:
        return f"attempt {self.number} at message {self.message_id}"
