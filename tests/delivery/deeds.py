"""What people do, each by the service that does it. Each takes plain numbers, and gives the number of its practice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from clinic.models import Owner, Practice
from followup.domain.terms import DoseOutcome, Level, Outcome
from followup.models import Channel, Dose, Flag, Gap, Plan, Recipient, Reply
from followup.services.admit import admit
from followup.services.channel_secrets import encrypt
from followup.services.died import record_death
from followup.services.escalate import acknowledge, record_outcome
from followup.services.gaps import confirm_restored
from followup.services.home_again import Homecoming, home_again
from followup.services.pause import pause as pause_messages
from followup.services.pause import resume as resume_messages
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.review import Looked, review
from followup.services.revise import Revision, revise
from followup.services.sign_off import sign_off
from followup.services.stop import start_again
from followup.services.stop import stop as stop_messages

if TYPE_CHECKING:
    from tests.delivery.life import Life

HOUR = dt.timedelta(hours=1)
SAID: dict[str, dict[str, Any]] = {
    "good": {"answers": {"appetite": ["normal"], "faeces": ["normal"], "demeanour": ["bright"]}},
    "doubtful": {"answers": {"appetite": ["less"], "demeanour": ["quiet"]}},
    "urgent": {"answers": {"appetite": ["none"], "faeces": ["none"]}},
    "emergency": {"answers": {"breathing": ["laboured"], "appetite": ["none"]}},
    "unreadable": {"answers": {"appetite": ["purple"]}},
    "words": {"answers": {"appetite": ["normal"]}, "text": "He sleeps in the hay."},
    "a death": {"answers": {}, "text": "He died this morning."},
}


def reply(life: Life, *, plan: int, how: str) -> int:
    """The owner answers by the page; the same page twice counts once, and adds nothing (invariant 9)."""
    about = _plan(life, plan)
    said = dict(SAID[how])
    return _tell(life, about, said, text=said.pop("text", ""))


def dose(life: Life, *, plan: int, how: str = DoseOutcome.GIVEN.value) -> int | None:
    """The owner tells of the first dose that is open."""
    about = _plan(life, plan)
    row = about.doses.filter(state=Dose.State.PLANNED).order_by("at", "pk").first()
    return None if row is None else _tell(life, about, {"dose": {"id": row.pk, "outcome": how}})


def same_again(life: Life) -> None:
    """The last reply comes in once more."""
    if not life.receipts:
        return
    practice, client = life.receipts[-1]
    kept = Reply.objects.get(practice=life.people.practices[practice], client_id=client)
    before = Reply.objects.count(), Flag.objects.count(), kept.observations.count()
    if kept.plan is not None and kept.recipient is not None:
        take_reply(kept.plan, Incoming(client, kept.raw, kept.text), author=kept.recipient, now=life.now)
    after = Reply.objects.count(), Flag.objects.count(), kept.observations.count()
    finished = kept.state != Reply.State.STORED
    if finished and after != before:
        life.wrong.seen.append(f"9: the same reply once more has added something: {before} to {after}")


def enrol(life: Life, *, which: int, species: str) -> int | None:
    """A further recovery."""
    if life.now - life.people.home > 12 * HOUR:
        return None
    made = life.people.enrol_later(which, species, now=life.now)
    return None if made is None else _place(life, made)


def weigh(life: Life, *, plan: int, share: float) -> int:
    """A new weight changes doses and tells the owner."""
    about = _plan(life, plan)
    grams = round(float(about.dosing_weight_g or about.case["patient"]["weight_g"]) * share)
    change = Revision(because="Weighed.", version=about.version, weight_g=grams, keeps={"meloxicam": None})
    revise(about, change, staff=_vet(life, about), now=life.now)
    return _place(life, about)


def stop_medicine(life: Life, *, plan: int) -> int:
    """Every medicine ends."""
    about = _plan(life, plan)
    revise(about, Revision(because="Loose droppings.", version=about.version), staff=_vet(life, about), now=life.now)
    return _place(life, about)


def stay(life: Life, *, plan: int) -> int:
    """It is admitted to a clinic."""
    about = _plan(life, plan)
    admit(about, staff=_vet(life, about), why="Stasis, in our ward.", now=life.now)
    return _place(life, about)


def come_home(life: Life, *, plan: int) -> int:
    """It comes home from there, with a new plan."""
    about = _plan(life, plan)
    facts: dict[str, object] = {
        "discharged_at": life.now.isoformat(),
        "patient": {"weight_g": about.case["patient"]["weight_g"]},
        "last_ate_before_discharge_at": (life.now - HOUR).isoformat(),
        "last_faeces_before_discharge_at": (life.now - HOUR).isoformat(),
        "given_in_clinic": [],
        "home_medication": [],
    }
    home_again(about, Homecoming(facts, "Eats again."), staff=_vet(life, about), now=life.now)
    return _place(life, about)


def die(life: Life, *, plan: int) -> int:
    """It has died."""
    about = _plan(life, plan)
    record_death(about.patient, said_by="the owner", now=life.now)
    return _place(life, about)


def close(life: Life, *, plan: int) -> int:
    """A vet signs it off, if nothing stands against it."""
    about = _plan(life, plan)
    sign_off(about, staff=_vet(life, about), outcome=Outcome.NONE, now=life.now)
    return _place(life, about)


def stop(life: Life, *, person: int) -> int:
    """Somebody wants no more messages."""
    everybody = life.people.recipients()
    who = everybody[person % len(everybody)]
    stop_messages(who, how=Recipient.How.LINK, now=life.now)
    return life.people.practices.index(who.practice)


def start(life: Life, *, person: int) -> int:
    """And wants them again."""
    everybody = life.people.recipients()
    who = everybody[person % len(everybody)]
    start_again(who, how=Recipient.How.LINK, now=life.now)
    return life.people.practices.index(who.practice)


def pause(life: Life, *, practice: int) -> int:
    """The practice stops all messages to owners."""
    where = Practice.objects.get(pk=life.people.practices[practice].pk)
    pause_messages(where, staff=life.people.vets[practice], reason="A wrong text.", now=life.now)
    return practice


def resume(life: Life, *, practice: int) -> int:
    """And lets them go on."""
    where = Practice.objects.get(pk=life.people.practices[practice].pk)
    resume_messages(where, staff=life.people.vets[practice], now=life.now)
    return practice


def confirm(life: Life) -> None:
    """After a backup was put back somebody has looked: owners are written to again."""
    for gap in Gap.objects.holding():
        confirm_restored(gap, staff=life.people.vets[0], now=life.now)


def own_channel(life: Life, *, practice: int, medium: str, enabled: bool) -> int:
    """The practice sends one medium by a way of its own, or no longer."""
    Channel.objects.update_or_create(
        practice=life.people.practices[practice],
        medium=medium,
        defaults={"secret_url": encrypt("json://x"), "enabled": enabled},
    )
    return practice


def lose_address(life: Life, *, person: int, medium: str) -> int:
    """An address is taken off the record."""
    everybody = life.people.recipients()
    who = everybody[person % len(everybody)]
    Owner.objects.filter(pk=who.person_id).update(**{"email" if medium == "email" else "mobile": ""})
    return life.people.practices.index(who.practice)


def take_on(life: Life, *, flag: int) -> int | None:
    """Somebody has an emergency in hand."""
    found = _flag(flag)
    if found is None:
        return None
    acknowledge(found, staff=_vet(life, found.plan), now=life.now)
    return _place(life, found.plan)


def tell_outcome(life: Life, *, flag: int) -> int | None:
    """And says what came of it."""
    found = _flag(flag)
    if found is None:
        return None
    record_outcome(found, staff=_vet(life, found.plan), outcome=Flag.Outcome.SPOKEN_TO, note="", now=life.now)
    return _place(life, found.plan)


def look(life: Life, *, flag: int) -> int | None:
    """A vet reviews a flag."""
    found = _flag(flag)
    if found is None:
        return None
    looked = Looked(found="Seen.", done="Nothing.", really=Level.ON_TRACK)
    review(found, looked, staff=_vet(life, found.plan), now=life.now)
    return _place(life, found.plan)


Deed = Callable[..., int | None]
DEEDS: dict[str, Deed] = {
    each.__name__: each
    for each in (
        *(
            reply,
            dose,
            same_again,
            enrol,
            weigh,
            stop_medicine,
            stay,
            come_home,
            die,
            close,
            stop,
            start,
            pause,
            resume,
        ),
        *(confirm, own_channel, lose_address, take_on, tell_outcome, look),
    )
}


def _plan(life: Life, number: int) -> Plan:
    kept = life.people.plans[number % len(life.people.plans)]
    return Plan.objects.select_related("practice", "patient__owner").get(pk=kept.pk)


def _flag(number: int) -> Flag | None:
    found = list(Flag.objects.open().select_related("plan__practice").order_by("plan_id", "concern"))
    return found[number % len(found)] if found else None


def _place(life: Life, plan: Plan) -> int:
    return [each.pk for each in life.people.practices].index(plan.practice_id)


def _vet(life: Life, plan: Plan) -> Any:
    return life.people.vets[_place(life, plan)]


def _tell(life: Life, plan: Plan, raw: dict[str, Any], text: str = "") -> int:
    """What an owner sends by his page; the page has its receipt once it is stored."""
    place, client = _place(life, plan), f"page {len(life.receipts)}"
    author = Recipient.objects.get(practice=plan.practice, person=plan.patient.owner)
    raw = together(raw["answers"]) if "answers" in raw else raw
    life.receipts.append((place, client))
    take_reply(plan, Incoming(client, raw, text), author=author, now=life.now)
    return place
