"""The demo lives through its fortnight: each enrolment, message, answer and review at its own moment."""

from __future__ import annotations

import datetime as dt
import secrets
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from clinic.models import (
    ClockOffset,
    Membership,
    OnCallShift,
    OpeningHours,
    OutOfHoursProvider,
    Owner,
    Patient,
    Practice,
    Role,
    Staff,
)
from followup.domain.questions import QUESTIONS
from followup.domain.terms import CheckInKind
from followup.domain.usual import USUAL
from followup.messaging.apprise_channel import TrayChannel
from followup.messaging.channel import Channel
from followup.models import CheckIn, Message, Plan, ProtocolVersion, Recipient, Reply, WoundReview
from followup.services.demo_cast import Actor, Cast, read_cast
from followup.services.demo_drawing import drawn_wound
from followup.services.draft import NewRecovery
from followup.services.due import next_due
from followup.services.enrol import enrol
from followup.services.photos import Upload, keep_photo
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.seed_protocols import seed_protocols
from followup.services.tick import tick
from followup.services.usual_words import approve
from followup.services.wound_review import WoundLook, look_at_wound

ZONE = ZoneInfo("Europe/London")
STARTS = dt.time(7, 40)
"""The demo begins at this time of the practice's day."""
ANSWERS_AFTER = dt.timedelta(minutes=6)
NEXT_TICK = dt.timedelta(seconds=15)
FIRST_DAY = 15
PHOTO_FIRST = dt.timedelta(hours=20)
"""The vets of the demo look at a wound the morning after it was due: the photo comes in the evening."""
GOOD = {"appetite": "normal", "faeces": "normal", "demeanour": "bright", "worried": "no", "urine": "normal"}


@dataclass(frozen=True)
class Login:
    """One invented log-in, for the terminal."""

    email: str
    password: str
    role: str


def fill(*, now: dt.datetime) -> list[Login]:
    """Fill an empty demo and set its clock to 07:40; returns the invented log-ins, or nothing when it is filled."""
    if Practice.objects.exists():
        return []
    begins = dt.datetime.combine(now.astimezone(ZONE).date(), STARTS, ZONE)
    cast = read_cast()
    logins = _people(cast, begins)
    _live(cast, begins, now=now)
    ClockOffset.objects.update_or_create(pk=1, defaults={"offset": begins - now})
    return logins


def _people(cast: Cast, begins: dt.datetime) -> list[Login]:
    start = begins - dt.timedelta(days=FIRST_DAY)
    for each in cast.practices:
        _practice(each, start)
    logins = []
    for each in cast.staff:
        password = secrets.token_urlsafe(9)
        staff = Staff(email=each["email"], name=each["name"], mobile=each.get("mobile", ""))
        staff.set_password(password)
        staff.save()
        practice = Practice.objects.get(slug=each["practice"])
        Membership.objects.create(practice=practice, staff=staff, role=each["role"])
        if "on_call" in each:
            OnCallShift.objects.create(
                practice=practice,
                staff=staff,
                position=each["on_call"],
                starts_at=start,
                ends_at=begins + dt.timedelta(days=60),
            )
        logins.append(Login(each["email"], password, Role(each["role"]).label))
    return logins


def _practice(each: dict[str, Any], start: dt.datetime) -> None:
    practice = Practice.objects.create(
        slug=each["slug"],
        name=each["name"],
        address=each["address"],
        phone=each["phone"],
        email=each["email"],
        time_zone=ZONE.key,
        languages=["en"],
        created_at=start,
    )
    for weekday in range(6):
        closes = dt.time(18, 30) if weekday <= 4 else dt.time(13)  # noqa: PLR2004 - Monday to Friday, Saturday
        OpeningHours.objects.create(practice=practice, weekday=weekday, opens=dt.time(8), closes=closes)
    for species in ("guinea_pig", "rabbit"):
        OutOfHoursProvider.objects.create(
            practice=practice,
            species=species,
            name=each["night_name"],
            phone=each["night_phone"],
            second_phone=each["night_second"],
            address=each["night_address"],
            last_checked_on=start.date(),
        )
    seed_protocols(practice, now=start)


def _live(cast: Cast, begins: dt.datetime, *, now: dt.datetime) -> None:
    """From the first enrolment to the demo's first minute, tick by tick."""
    practice = Practice.objects.get(slug=cast.practices[0]["slug"])
    vet = Staff.objects.get(email=cast.staff[0]["email"])
    ProtocolVersion.objects.filter(practice=practice).update(
        approved_by=vet, approved_at=begins - dt.timedelta(days=FIRST_DAY)
    )
    for each in USUAL:
        approve(practice, each, "", staff=vet, now=begins - dt.timedelta(days=FIRST_DAY))
    arrivals = sorted(((_home(actor, begins), actor) for actor in cast.actors), key=lambda each: each[0])
    plans: dict[int, Actor] = {}
    moment = arrivals[0][0]
    while moment < begins:
        while arrivals and arrivals[0][0] <= moment:
            at, actor = arrivals.pop(0)
            plans[_enrol(practice, actor, at).pk] = actor
        tick(now=moment, choose=_tray, moved_on=moment - now)
        if _answer(plans, moment):
            moment += NEXT_TICK  # what an answer raised goes out with the next tick, as in a practice
            tick(now=moment, choose=_tray, moved_on=moment - now)
        _review(plans, vet, moment)
        coming = [next_due(moment), arrivals[0][0] if arrivals else None, _next_answer(moment)]
        moment = min((each for each in coming if each is not None and each > moment), default=begins)
    tick(now=begins, choose=_tray, moved_on=begins - now)


def _tray(_message: Message) -> Channel:
    return TrayChannel()


def _home(actor: Actor, begins: dt.datetime) -> dt.datetime:
    day = begins.date() - dt.timedelta(days=actor.days_ago)
    return dt.datetime.combine(day, dt.time(16, 30), ZONE)


def _enrol(practice: Practice, actor: Actor, now: dt.datetime) -> Plan:
    number = Owner.objects.count()
    owner, _ = Owner.objects.get_or_create(
        practice=practice,
        name=actor.owner,
        defaults={
            "email": f"{actor.owner.lower().replace(' ', '.')}@example.org",
            "mobile": f"+447700900{100 + number}",
            "time_zone": ZONE.key,
            "created_at": now,
        },
    )
    patient = Patient.objects.create(
        practice=practice,
        owner=owner,
        name=actor.name,
        species=actor.species,
        sex=actor.sex,
        born_on=now.date() - dt.timedelta(days=300),
    )
    consents = {"to_be_contacted": True, "photos": True, "wake_me_at_night": actor.wakes_for_emergency}
    request = NewRecovery(
        practice=practice,
        owner=owner,
        patient=patient,
        facts=_facts(actor, now),
        key=f"demo {actor.name}",
        consents=consents,
    )
    desk = Staff.objects.filter(memberships__practice=practice, memberships__role=Role.FRONT_DESK).get()
    return enrol(request, staff=desk, now=now)


def _facts(actor: Actor, home: dt.datetime) -> dict[str, Any]:
    pig = actor.species == "guinea_pig"
    amount, strength = (0.1, 0.5) if pig else (0.6, 1.5)
    facts: dict[str, Any] = {
        "patient": {"weight_g": actor.weight_g},
        "procedure": "castration" if pig else "spay",
        "surgery_ended_at": (home - dt.timedelta(hours=6)).isoformat(),
        "discharged_at": home.isoformat(),
        "last_ate_before_discharge_at": (home - dt.timedelta(minutes=90)).isoformat(),
        "last_faeces_before_discharge_at": (home - dt.timedelta(minutes=150)).isoformat(),
        "given_in_clinic": [
            {"drug": "meloxicam", "mg_per_kg": 0.2, "route": "sc", "at": (home - dt.timedelta(hours=6)).isoformat()}
        ],
        "discharge": {
            "fit_to_go_by": "Dr Imke Farrant",
            "closure": "buried",
            "approach": "scrotal" if pig else "midline",
        },
    }
    if actor.prescribed:
        facts["home_medication"] = [
            {
                "drug": "meloxicam",
                "mg_per_kg": amount,
                "every_hours": 24,
                "days": 2,
                "mg_per_ml": strength,
                "syringe_ml": 1,
                "prescribed_by": "Dr Imke Farrant",
                "off_label_explained": True,
            }
        ]
    return facts


def _next_answer(moment: dt.datetime) -> dt.datetime | None:
    asked = CheckIn.objects.open().filter(asked_at__gt=moment - ANSWERS_AFTER).order_by("asked_at", "pk").first()
    return asked.asked_at + ANSWERS_AFTER if asked is not None and asked.asked_at is not None else None


def _answer(plans: dict[int, Actor], now: dt.datetime) -> bool:
    """Every owner who answers does so six minutes after he was asked. Whether anybody did."""
    answered = False
    ready = CheckIn.objects.open().filter(plan_id__in=plans, asked_at__lte=now - ANSWERS_AFTER)
    for check_in in ready.select_related("plan__patient", "plan__practice").order_by("at", "pk"):
        actor = plans[check_in.plan_id]
        moment = f"{check_in.day} {check_in.kind}"
        if _silent(actor, check_in) or not Message.objects.filter(check_ins=check_in, state="sent").exists():
            continue
        recipient = Recipient.objects.get(practice=check_in.practice, person=check_in.plan.patient.owner)
        wanted = {key: value for key, value in GOOD.items() if key in check_in.questions and key in QUESTIONS}
        answers = {key: [value] for key, value in wanted.items()} | actor.says.get(moment, {})
        incoming = Incoming(client_id=f"demo {check_in.pk}", raw=together(answers), check_in=check_in)
        taken = take_reply(check_in.plan, incoming, author=recipient, now=now)
        answered = True
        if check_in.photo:
            _photo(check_in, actor, taken.understood.reply, now)
    return answered


def _photo(check_in: CheckIn, actor: Actor, reply: Reply, now: dt.datetime) -> None:
    file = drawn_wound(actor.drawn_redness)
    keep_photo(check_in.plan, Upload(f"demo {check_in.pk}", file, len(file.getvalue())), reply=reply, now=now)


def _silent(actor: Actor, check_in: CheckIn) -> bool:
    """Whether the owner has stopped answering: after the check-in named in `silent_after`, or to anything extra."""
    if not actor.silent_after:
        return False
    day, kind = actor.silent_after.split()
    last = check_in.plan.check_ins.get(day=int(day), kind=kind)
    return check_in.kind == CheckInKind.EXTRA or check_in.at > last.at


def _review(plans: dict[int, Actor], vet: Staff, now: dt.datetime) -> None:
    due = WoundReview.objects.due(now - PHOTO_FIRST).filter(
        plan_id__in=[pk for pk, actor in plans.items() if actor.reviewed]
    )
    for each in due:
        look_at_wound(each, WoundLook("Dry, closed, a little pink.", "Go on.", as_expected=True), staff=vet, now=now)
