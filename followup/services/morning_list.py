"""The morning list: whom the practice must act on, call, confirm, look at or reach. A read model; nothing is written.

The number of queries does not depend on the number of patients.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from django.db.models import Max, prefetch_related_objects

from clinic.models import Practice
from followup.domain.bounds import Bounds
from followup.domain.clocks import clock_of
from followup.domain.silence import never_heard_from
from followup.domain.terms import Heard, Sign
from followup.models import Event, Flag, Photo, Plan, Task, Verdict, WoundReview
from followup.services.facts import readable, recovery_of
from followup.services.needs import Group, Known, Need, needs_of, needs_of_tasks
from followup.services.rota_cover import cover_line
from followup.services.top_line import TopLine, top_line

HOUR = dt.timedelta(hours=1)


class _OfAPlan(Protocol):
    @property
    def plan_id(self) -> int | None: ...


Found = TypeVar("Found", bound=_OfAPlan)


@dataclass(frozen=True)
class Row:
    """One patient, once. `plan` None: a task that belongs to no follow-up.

    `food` says in words how long he has been without; `heard` is hours since anybody told us of him.
    """

    group: Group
    plan: Plan | None
    day: int
    need: Need | None
    more: tuple[Need, ...]
    food: str
    heard: str

    @property
    def flag(self) -> Flag | None:
        """The flag that put the patient here: what the owner was told, who has acknowledged."""
        return self.need.flag if self.need is not None else None


@dataclass(frozen=True)
class GroupOfRows:
    """One group with its rows."""

    group: Group
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class MorningList:
    """The whole page. `groups` hold somebody; `on_track` are folded; `needing` is how many patients need a person.

    `nobody_on_call`: a hole in the rota of the next 14 days, in one line.
    """

    top: TopLine
    counts: tuple[tuple[str, int], ...]
    groups: tuple[GroupOfRows, ...]
    on_track: tuple[Row, ...]
    needing: int
    nobody_on_call: str


def morning_list(practice: Practice, *, now: dt.datetime) -> MorningList:
    """The list of one practice at `now`."""
    prefetch_related_objects([practice], "opening_hours", "opening_exceptions")
    rows = sorted(_rows(practice, now), key=_worst_first)
    by_group = [GroupOfRows(group, tuple(row for row in rows if row.group is group)) for group in Group]
    needing = [each for each in by_group if each.group is not Group.ON_TRACK]
    return MorningList(
        top=top_line(practice, now=now),
        counts=tuple((each.group.heading, len(each.rows)) for each in by_group),
        groups=tuple(each for each in needing if each.rows),
        on_track=by_group[Group.ON_TRACK].rows,
        needing=sum(len(each.rows) for each in needing),
        nobody_on_call=cover_line(practice, now=now),
    )


def food_words(plan: Plan, now: dt.datetime) -> str:
    """ "9 to 12 h without food"; after a good answer the hours as they then stood; empty when they cannot be told."""
    clock = readable(lambda: clock_of(recovery_of(plan), Sign.FOOD), otherwise=None)
    if clock is None:
        return ""  # what cannot be read never hides the patient
    return f"{between(clock.reading(now))} h without food{'' if clock.runs else ' when last heard'}"


def between(bounds: Bounds) -> str:
    """Bounds in whole hours, rounded down."""
    low, high = int(bounds.at_least / HOUR), int(bounds.at_most / HOUR)
    return f"{high}" if low == high else f"{low} to {high}"


def heard_words(plan: Plan, now: dt.datetime) -> str:
    """Hours since anybody last told us of the animal; since discharge when nobody has."""
    last = max((each.seen_at for each in plan.observations.all()), default=plan.discharged_at)
    return f"{max(int((now - last) / HOUR), 0)}"


def _worst_first(row: Row) -> tuple[bool, int, bool, int, str]:
    """Whom the rules could not judge comes before whom they did: nobody knows how he is."""
    worst = row.flag.worst if row.flag is not None else 0
    first = row.need is not None and row.need.first
    unknown = row.plan is not None and row.plan.not_weighed_at is not None
    return not first, row.group, not unknown, -worst, row.plan.patient.name if row.plan is not None else ""


def _rows(practice: Practice, now: dt.datetime) -> list[Row]:
    tasks = list(Task.objects.due(now).filter(practice=practice).order_by("due_at", "pk"))
    of_patient: dict[int, list[Known]] = defaultdict(list)
    for known in _known(practice, tasks, now):
        of_patient[known.plan.patient_id].append(known)
    rows = [_row(several, now) for several in of_patient.values()]
    loose = [each for each in tasks if each.plan_id is None]
    return rows + [_loose(need) for need in needs_of_tasks(loose)]


def _loose(need: Need) -> Row:
    return Row(need.group, None, 0, need, (), "", "")


def _row(several: Sequence[Known], now: dt.datetime) -> Row:
    """One row for one patient, though he may have two follow-ups."""
    found = [(need, known.plan) for known in several for need in needs_of(known, now=now)]
    found.sort(key=lambda each: (not each[0].first, each[0].group))
    need, plan = found[0] if found else (None, several[0].plan)
    at_home = plan.state == Plan.State.RUNNING and plan.paused != Plan.Pause.IN_HOSPITAL
    return Row(
        group=need.group if need is not None else Group.ON_TRACK,
        plan=plan,
        day=plan.day(now),
        need=need,
        more=tuple(each for each, _plan in found[1:]),
        food=food_words(plan, now) if at_home else "",
        heard=heard_words(plan, now) if at_home else "",
    )


def _known(practice: Practice, tasks: Sequence[Task], now: dt.datetime) -> list[Known]:
    plans = _plans(practice, tasks)
    shown = [Flag.State.OPEN, Flag.State.SETTLED]
    flags = Flag.objects.of(practice).filter(plan__in=plans, state__in=shown).select_related("acknowledged_by")
    of_flags, of_tasks = _by_plan(flags), _by_plan(tasks)
    of_reviews = _by_plan(WoundReview.objects.due(now).filter(practice=practice, plan__in=plans))
    of_photos = _by_plan(Photo.objects.filter(practice=practice, plan__in=plans))
    heard, seen = _heard(plans), _seen(plans)
    return [
        Known(
            plan,
            flags=of_flags[plan.pk],
            tasks=of_tasks[plan.pk],
            reviews=of_reviews[plan.pk],
            photos=of_photos[plan.pk],
            heard=heard.get(plan.pk, ""),
            never_heard=heard.get(plan.pk) == Heard.NOT_HEARD_FROM and _never_heard(plan, now),
            seen_at=seen.get(plan.pk),
        )
        for plan in plans
    ]


def _plans(practice: Practice, tasks: Sequence[Task]) -> list[Plan]:
    """Running, waiting, or ended with something still to be done."""
    live = Plan.objects.of(practice).filter(state__in=[Plan.State.RUNNING, Plan.State.WAITING_FOR_VET])
    ended = Plan.objects.of(practice).filter(pk__in=[task.plan_id for task in tasks if task.plan_id is not None])
    found = (live | ended).select_related("patient__owner", "protocol", "enrolled_by")
    plans = list(found.prefetch_related("observations", "check_ins", "replies").order_by("pk"))
    for plan in plans:
        plan.practice = practice  # with its opening hours at hand
    return plans


def _heard(plans: Sequence[Plan]) -> dict[int, str]:
    """The newest verdict's word about each running plan's silence."""
    rows = Verdict.objects.filter(plan__in=plans).order_by("at", "pk").values_list("plan_id", "body__heard__state")
    return {plan: state or "" for plan, state in rows}


def _never_heard(plan: Plan, now: dt.datetime) -> bool:
    return readable(lambda: never_heard_from(recovery_of(plan), now), otherwise=False)


def _seen(plans: Sequence[Plan]) -> dict[int, dt.datetime]:
    """When somebody last said that he had seen what is new, or looked at the wound."""
    events = Event.objects.filter(plan__in=plans, what__in=["seen", "wound_reviewed"])
    return dict(events.values_list("plan_id").annotate(at=Max("at")).order_by())


def _by_plan(rows: Iterable[Found]) -> dict[int, list[Found]]:
    found: dict[int, list[Found]] = defaultdict(list)
    for row in rows:
        if row.plan_id is not None:
            found[row.plan_id].append(row)
    return found
