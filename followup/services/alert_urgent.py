"""An urgent case that nobody has taken: the next person is told, or the owner, when nobody is there in time.

Source: clinical defaults, 1. When, and whom, is decided in domain/urgent.py.
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction

from followup.domain.terms import Level
from followup.domain.urgent import Watch, Whom
from followup.domain.wording import URGENT_ALERT
from followup.models import Flag, Message, Plan
from followup.models.flag import NOT_WEIGHED
from followup.services.advice import advice_for
from followup.services.alert_people import Reach, alert, everyone, filled, on_call
from followup.services.call_people import watch_of
from followup.services.log import log
from followup.services.tell import tell_owner


@transaction.atomic
def alert_urgent(flag: Flag, *, now: dt.datetime) -> bool:
    """Take one step for one urgent flag; the conditional update lets only one worker take it."""
    watch = watch_of(flag, now=now)
    step = flag.step
    unchanged = Flag.objects.filter(pk=flag.pk, step=step, next_alert_at=flag.next_alert_at, acknowledged_at=None)
    later = watch.put_off(flag.next_alert_at or now, now)
    if later is not None:
        unchanged.update(next_alert_at=later)
        return False
    if not unchanged.update(step=step + 1, next_alert_at=watch.next_alert(now)):
        return False
    people = _people(flag, watch.whom(now), now=now)
    if not people:
        _nobody(flag, now=now)
        return True
    number = watch.how_many(now, step)
    alert(
        flag,
        [(reach, step > 0) for reach in people[:number]],
        key=f"urgent:{flag.pk}:{watch.since:%Y%m%d%H%M%S}:{step}",
        text=filled(URGENT_ALERT, flag, now=now, by=_by(watch, flag.plan, now)),
        now=now,
    )
    return True


def _people(flag: Flag, whom: Whom, *, now: dt.datetime) -> list[Reach]:
    """In turn: who is on the rota now; in opening hours without a rota, whoever may decide."""
    if whom is Whom.THE_OWNER:
        return []
    practice = flag.plan.practice
    found = on_call(practice, now)
    return found or (everyone(practice) if whom is Whom.ON_DUTY else [])


def _nobody(flag: Flag, *, now: dt.datetime) -> None:
    """The owner is told at once to phone whoever answers today; once a round, and not where that has gone to him.

    Where the rules could not be weighed and he has told us nothing, one fault of ours may hold for every patient at
    once: then it alarms no owner (see not_weighed.py).
    """
    plan = flag.plan
    log(plan, "nobody_on_call", "urgent, and nobody is here or on call in time", now=now, flag=flag.pk)
    ours = flag.concern == NOT_WEIGHED and not flag.owner_told
    advised = flag.messages.filter(purpose=Message.Purpose.ADVICE, due_at__gte=flag.round_began_at or flag.raised_at)
    if plan.paused or ours or advised.exists():
        return
    advice = advice_for(plan, Level.URGENT, now=now)
    Flag.objects.filter(pk=flag.pk).update(owner_told=advice.heading, owner_told_at=now)
    began = flag.round_began_at or flag.raised_at
    tell_owner(plan, advice, flag=flag, key=f"advice:{flag.pk}:nobody:{began:%Y%m%d%H%M%S}", now=now)


def _by(watch: Watch, plan: Plan, now: dt.datetime) -> str:
    """ "14:30" today, "Tue 08:30" on another day, on the practice's clock; "now" when it is over."""
    if watch.by <= now:
        return "now"
    local, today = (each.astimezone(plan.practice.zone) for each in (watch.by, now))
    return f"{local:%H:%M}" if local.date() == today.date() else f"{local:%a %H:%M}"
