"""The page "Sending": whether it works, which ways out are open, and what did not go out. A read model."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.core.paginator import Page, Paginator
from django.db.models import Count as HowMany
from django.db.models import F, IntegerField, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from clinic.models import Practice
from followup.models import Count, Gap, Message, Route
from followup.models.message import MessageQuerySet
from followup.services.canary import newest_of
from followup.services.health import COUNTED
from followup.services.pause import WHILE_PAUSED
from followup.services.sending_state import SendingState, is_shut
from followup.services.sending_words import reason, way_words

DAYS_BACK = dt.timedelta(days=7)
GAPS_BACK = dt.timedelta(days=30)
MOST_GAPS = 10
A_PAGE = 50
READY, LEASED, EXPIRED = Message.State.READY, Message.State.LEASED, Message.State.EXPIRED
ENDED_BADLY = (Message.State.FAILED, Message.State.PARKED, EXPIRED)


@dataclass(frozen=True)
class Way:
    """One way out. `set_up` False: messages stay in the tray. `open_`: something may get through."""

    name: str
    own: bool
    set_up: bool
    route: Route | None

    @property
    def is_open(self) -> bool:
        """Whether messages may get through."""
        return self.set_up and (self.route is None or not is_shut(self.route))


@dataclass(frozen=True)
class Canary:
    """The practice's last one that came back, or was taken by its mail server for the box `to`."""

    at: dt.datetime | None
    to: str


@dataclass(frozen=True)
class SendingPage:
    """`reasons`: why it does not work, the worst first; none: it works. `counted`: what must never happen, and did.

    `page`: messages of the last days that wait, failed, are parked or came too late, the newest first.
    """

    state: SendingState
    reasons: tuple[str, ...]
    ways: tuple[Way, ...]
    canary: Canary
    counts: dict[str, int]
    page: Page[Message]
    gaps: Sequence[Gap]
    counted: dict[str, Count]

    @property
    def held(self) -> Gap | None:
        """The restored backup that nobody has confirmed yet."""
        return next((gap for gap in self.gaps if gap.kind == Gap.Kind.RESTORED and gap.confirmed_at is None), None)


def sending_page(practice: Practice, state: SendingState, *, page: str | None) -> SendingPage:
    """Everything about sending that the practice may want to know; six queries, however much there is."""
    now = state.now
    messages = _recent(practice, now)
    counts = _counts(messages, now)
    rows = messages.filter(_waits(now) | Q(state__in=ENDED_BADLY))
    listed = Paginator(
        rows.select_related("plan__patient", "recipient__person", "staff").order_by("-due_at", "-pk"), A_PAGE
    )
    listed.count = sum(counts[name] for name in ("waiting", "failed", "parked", "expired"))
    canary = newest_of(practice)
    return SendingPage(
        state=state,
        reasons=tuple(reason(each, practice.zone, now=now) for each in state.hindrances),
        ways=tuple(_ways(state)),
        canary=Canary(
            canary.sent_at if canary is not None else None,
            settings.CANARY_ADDRESS if canary is not None and canary.sent_through != "loop" else "",
        ),
        counts=counts,
        page=listed.get_page(page),
        gaps=list(_gaps(practice, now)),
        counted={each.name: each for each in Count.objects.filter(name__in=COUNTED)},
    )


def _recent(practice: Practice, now: dt.datetime) -> MessageQuerySet:
    return Message.objects.filter(practice=practice, due_at__gte=now - DAYS_BACK).exclude(
        audience=Message.Audience.LOOP
    )


def _waits(now: dt.datetime) -> Q:
    """Its time has come, or it was tried; not what is held on purpose until the owner wakes."""
    return Q(state=LEASED) | Q(state=READY, not_before__lte=now) | Q(state=READY, attempts__gt=0)


def _counts(messages: MessageQuerySet, now: dt.datetime) -> dict[str, int]:
    return messages.aggregate(
        waiting=HowMany("pk", filter=_waits(now)),
        failed=HowMany("pk", filter=Q(state=Message.State.FAILED)),
        parked=HowMany("pk", filter=Q(state=Message.State.PARKED)),
        expired=HowMany("pk", filter=Q(state=EXPIRED)),
        while_paused=HowMany("pk", filter=Q(state=EXPIRED, last_error=WHILE_PAUSED)),
    )


def _ways(state: SendingState) -> Iterator[Way]:
    """E-mail and text messages always; a chat only where one is set up."""
    of_all = {Message.Medium.EMAIL: settings.EMAIL_URL, Message.Medium.SMS: settings.SMS_URL}
    for medium in Message.Medium:
        own = medium in state.own
        if own or medium in of_all:
            set_up = own or bool(of_all.get(medium))
            yield Way(way_words(medium), own, set_up, state.route(medium) if set_up else None)


def _gaps(practice: Practice, now: dt.datetime) -> QuerySet[Gap]:
    """With how many of the practice's messages became too late in each."""
    late = Message.objects.filter(
        practice=practice,
        state=EXPIRED,
        due_at__gte=now - GAPS_BACK - DAYS_BACK,
        expires_at__gte=OuterRef("began_at"),
        expires_at__lte=Coalesce(OuterRef("caught_up_at"), OuterRef("ended_at")),
    ).exclude(audience=Message.Audience.LOOP)
    number = late.order_by().values("practice").annotate(number=HowMany("pk")).values("number")
    recent = Gap.objects.filter(Q(ended_at__gte=now - GAPS_BACK) | Q(pk__in=Gap.objects.holding()))
    counted = recent.annotate(too_late=Coalesce(Subquery(number, output_field=IntegerField()), 0))
    return counted.select_related("confirmed_by").order_by(F("ended_at").desc(), "-pk")[:MOST_GAPS]
