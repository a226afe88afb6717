"""A practice where every name and every text is as long as its field lets it be, and holds a word that cannot break."""

from __future__ import annotations

import datetime as dt

from clinic.models import Practice, Role
from followup.models import Task
from followup.services.links import recipient_for
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from tests import world

WORD = "Hoppelnagelohrenschwanzwackelpfötchen"
PATIENT = f"{WORD} von und zu Kleeblatt am Wassergraben"[:80]
OWNER = f"Wilhelmina Persephone Featherstonehaugh-{WORD}-Cholmondeley of the Upper Meadow"
TOLD = f"She sits in the corner since {'a very ' * 60}long time. {WORD * 4} https://example.org/{'path/' * 40}"


def long_practice(now: dt.datetime) -> None:
    """One patient with an emergency, an owner's words and a task, all of them long."""
    name = f"The Old Schoolhouse Practice for Guinea Pigs, Rabbits and {WORD}"
    where = world.practice("long-names")
    Practice.objects.filter(pk=where.pk).update(name=name[:120], address=f"The Long House, {WORD} Lane, Nowhere-on-Sea")
    where.refresh_from_db()
    world.staff(where, Role.VET, f"Dr {WORD} Longname-Longername")
    owner = world.owner(where, name=OWNER, email="long@example.org")
    plan = world.running_plan(where=where, of=owner, day=now.date() - dt.timedelta(days=1))
    type(plan.patient).objects.filter(pk=plan.patient_id).update(name=PATIENT)
    plan.refresh_from_db()
    author = recipient_for(where, owner, now=now)
    answers = {"demeanour": ["collapsed"], "appetite": ["none"], "wound.bleeding": ["steady_drip"], "text": [TOLD]}
    take_reply(plan, Incoming("told", together(answers), TOLD), author=author, now=now - dt.timedelta(minutes=5))
    Task.objects.create(
        practice=where,
        plan=plan,
        kind=Task.Kind.PHONE,
        key="long",
        text=f"Ring {OWNER}: {TOLD}",
        due_at=now,
        made_at=now,
    )
