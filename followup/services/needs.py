"""Why one patient needs a person this morning, worst first. Rows come in, read models go out; nothing is written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from followup.domain.terms import Concern, Heard, Level
from followup.models import Flag, Photo, Plan, Task, WoundReview
from followup.models.flag import NOT_WEIGHED


class Group(IntEnum):
    """The groups of the morning list, in its order."""

    ACT_NOW = 0
    CALL_TODAY = 1
    TO_CONFIRM = 2
    LOOK = 3
    NOT_HEARD = 4
    IN_A_CLINIC = 5
    ON_TRACK = 6

    @property
    def heading(self) -> str:
        """What stands above the group."""
        return {
            Group.ACT_NOW: "Act now",
            Group.CALL_TODAY: "Call today",
            Group.TO_CONFIRM: "To confirm",
            Group.LOOK: "Look at this morning",
            Group.NOT_HEARD: "Not heard from",
            Group.IN_A_CLINIC: "In a clinic",
            Group.ON_TRACK: "On track",
        }[self]


@dataclass(frozen=True)
class Need:
    """One reason. `page` is the name of the page where it is dealt with, `pk` its number, `step` the link's words.

    `first`: before everything else on every list, until a person has an answer. Source: clinical defaults, 5.
    """

    group: Group
    words: str
    page: str
    pk: int
    step: str
    flag: Flag | None = None
    first: bool = False


@dataclass(frozen=True)
class Known:
    """What was looked up about one plan. `seen_at`: when staff last said that they had seen everything new."""

    plan: Plan
    flags: Sequence[Flag] = ()
    tasks: Sequence[Task] = ()
    reviews: Sequence[WoundReview] = ()
    photos: Sequence[Photo] = ()
    heard: str = ""
    never_heard: bool = False
    seen_at: dt.datetime | None = None


def needs_of(known: Known, *, now: dt.datetime) -> tuple[Need, ...]:
    """Every reason why this patient needs a person now, worst group first; none: he is on track."""
    found = [*_flags(known), *needs_of_tasks(known.tasks), *_plan(known, now)]
    return tuple(sorted(found, key=lambda need: (need.group, -(need.flag.worst if need.flag else 0))))


def group_of_flag(flag: Flag) -> Group:
    """Where an open flag belongs: what was ever an emergency stays on top until an outcome is written down."""
    if flag.worst == Level.EMERGENCY and not (flag.acknowledged_at and flag.outcome):
        return Group.ACT_NOW
    if flag.worst >= Level.URGENT:
        return Group.CALL_TODAY
    return Group.NOT_HEARD if flag.concern == Concern.SILENCE else Group.LOOK


def _flags(known: Known) -> Iterator[Need]:
    for flag in known.flags:
        if flag.state == Flag.State.OPEN:
            good = flag.level == Level.ON_TRACK and flag.concern != NOT_WEIGHED
            eased = " (a newer answer is good)" if good else ""
            words = f"{flag.because}{eased}"
            if known.never_heard and _is_silence(flag):
                yield Need(Group.ACT_NOW, words, "followup:phone_answers", known.plan.pk, "Phone", flag, first=True)
            else:
                yield Need(group_of_flag(flag), words, "followup:review_flag", flag.pk, "Review", flag)
        elif known.seen_at is None or flag.updated_at > known.seen_at:
            words = f"Settled by a good answer: {flag.because}"
            yield Need(Group.LOOK, words, "followup:patient", known.plan.pk, "See", flag)


def needs_of_tasks(tasks: Iterable[Task]) -> Iterator[Need]:
    """What only a person can do; calls come before reading."""
    for task in tasks:
        calls = task.kind in {Task.Kind.PHONE, Task.Kind.MEND_ADDRESS}
        if task.kind != Task.Kind.CONFIRM_PLAN:  # the waiting plan itself is on the list
            group = Group.CALL_TODAY if calls else Group.LOOK
            yield Need(group, task.text, "followup:task_done", task.pk, "Done" if calls else "Read")


def _plan(known: Known, now: dt.datetime) -> Iterator[Need]:
    plan = known.plan
    if plan.state == Plan.State.WAITING_FOR_VET:
        yield Need(Group.TO_CONFIRM, f"Plan entered by {plan.enrolled_by}", "followup:confirm", plan.pk, "Confirm")
    if plan.state == Plan.State.RUNNING and plan.paused == Plan.Pause.IN_HOSPITAL:
        yield Need(Group.IN_A_CLINIC, _since(plan), "followup:patient", plan.pk, "See")
    elif plan.state == Plan.State.RUNNING:
        yield from _wound(known)
        yield from _running(known, now)


def _since(plan: Plan) -> str:
    """Nobody is asked about it; a vet writes the new plan when it goes home."""
    since = plan.admitted_at.astimezone(plan.practice.zone) if plan.admitted_at is not None else None
    return f"In a clinic{f' since {since:%a %H:%M}' if since is not None else ''}: nothing is sent to the owner"


def _wound(known: Known) -> Iterator[Need]:
    new = _unseen(known)
    for review in known.reviews:
        words = f"Wound review of day {review.day}{_with(new)}"
        yield Need(Group.LOOK, words, "followup:wound_review", review.pk, "Look at the wound")
    if new and not known.reviews:
        yield Need(Group.LOOK, f"{_many(len(new))} not yet seen", "followup:patient", known.plan.pk, "See")


def _running(known: Known, now: dt.datetime) -> Iterator[Need]:
    plan = known.plan
    if _may_close(plan, now):
        yield Need(Group.LOOK, f"Day {plan.day(now)}: sign off", "followup:sign_off", plan.pk, "Sign off")
    if any(_is_silence(flag) for flag in known.flags):
        return  # the flag says so
    if known.never_heard:
        words = "Never heard from: nobody has an answer yet"
        yield Need(Group.ACT_NOW, words, "followup:phone_answers", plan.pk, "Phone", first=True)
    elif known.heard == Heard.NOT_HEARD_FROM:
        yield Need(Group.NOT_HEARD, "The last check-in was not answered", "followup:phone_answers", plan.pk, "Phone")


def _is_silence(flag: Flag) -> bool:
    return flag.concern == Concern.SILENCE and flag.state == Flag.State.OPEN


def _unseen(known: Known) -> list[Photo]:
    return [photo for photo in known.photos if known.seen_at is None or photo.received_at > known.seen_at]


def _with(photos: Sequence[Photo]) -> str:
    return f", {_many(len(photos))}" if photos else ", no photo yet"


def _many(photos: int) -> str:
    return f"{photos} photo{'s' if photos > 1 else ''}"


def _may_close(plan: Plan, now: dt.datetime) -> bool:
    zone = plan.practice.zone
    return now.astimezone(zone).date() >= plan.sign_off_at.astimezone(zone).date()
