"""One patient's page: how it stands at a glance, what is open, medicines, weights, people, and the timeline."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from clinic.models import Consent
from followup.casefile import read_observation
from followup.domain.adherence import Adherence, DoseSoFar, adherence
from followup.domain.terms import DoseOutcome, Level
from followup.models import CheckIn, Dose, Flag, Photo, Plan, Recipient, Task, WoundReview
from followup.services.cover_picture import CoverPicture, cover_picture
from followup.services.facts import case_of, compiled_of, readable
from followup.services.links import path_of
from followup.services.lost import Lost, lost
from followup.services.morning_list import food_words, heard_words
from followup.services.reasons import Reasons, reasons_of
from followup.services.timeline import Line, timeline
from followup.services.weight_picture import WeightPicture, weighings, weight_picture


@dataclass(frozen=True)
class Person:
    """Somebody we write to about this patient, with his link. `number`: of his record."""

    number: int
    name: str
    part: str
    phone: str
    email: str
    link: str
    recipient: Recipient


@dataclass(frozen=True)
class Chart:
    """The whole page. `reasons` are those of the newest verdict; `new` is whether anything waits to be seen.

    `weight` None: what is stored about the patient cannot be read.
    """

    plan: Plan
    day: int
    level: str
    reasons: Reasons | None
    next_check_in: CheckIn | None
    food: str
    heard: str
    flags: tuple[Flag, ...]
    past_flags: tuple[Flag, ...]
    tasks: tuple[Task, ...]
    reviews: tuple[WoundReview, ...]
    photos: tuple[Photo, ...]
    new: bool
    doses: tuple[Dose, ...]
    adherence: tuple[Adherence, ...]
    cover: CoverPicture | None
    weight: WeightPicture | None
    consents: tuple[Consent, ...]
    people: tuple[Person, ...]
    timeline: tuple[Line, ...]
    lost: Lost | None


def chart(plan: Plan, *, now: dt.datetime) -> Chart:
    """Everything staff may want to know about one plan at `now`."""
    flags = list(plan.flags.select_related("acknowledged_by", "reviewed_by").order_by("-worst", "-raised_at"))
    doses = tuple(plan.doses.exclude(state=Dose.State.CANCELLED))
    photos = tuple(plan.photos.order_by("-received_at", "-pk"))
    running = plan.state == Plan.State.RUNNING
    return Chart(
        plan=plan,
        day=plan.day(now),
        level=Level(plan.level).word,
        reasons=reasons_of(plan.verdicts.order_by("at", "pk").last()),
        next_check_in=plan.check_ins.filter(state=CheckIn.State.PLANNED, at__gt=now).order_by("at", "pk").first(),
        food=food_words(plan, now) if running else "",
        heard=heard_words(plan, now) if running else "",
        flags=tuple(flag for flag in flags if flag.state == Flag.State.OPEN),
        past_flags=tuple(flag for flag in flags if flag.state != Flag.State.OPEN),
        tasks=tuple(plan.tasks.due(now)),
        reviews=tuple(plan.wound_reviews.select_related("done_by")),
        photos=photos,
        new=_is_new(plan, flags, photos),
        doses=doses,
        adherence=adherence([_so_far(each) for each in doses], now),
        cover=readable(lambda: cover_picture(case_of(plan), compiled_of(plan), doses, now=now), otherwise=None),
        weight=readable(lambda: _weights(plan), otherwise=None),
        consents=tuple(plan.patient.owner.consents.order_by("-at", "-pk")),
        people=tuple(_person(each) for each in _people(plan)),
        timeline=timeline(plan),
        lost=readable(lambda: lost(plan, now=now), otherwise=None),
    )


def _weights(plan: Plan) -> WeightPicture:
    seen = [read_observation(row.facts) for row in plan.observations.all()]
    case = case_of(plan)
    return weight_picture(case, compiled_of(plan), weighings(case, plan.patient.weights.all(), seen))


def _so_far(row: Dose) -> DoseSoFar:
    return DoseSoFar(row.drug, row.give_until, DoseOutcome(row.outcome) if row.outcome else None)


def _is_new(plan: Plan, flags: list[Flag], photos: tuple[Photo, ...]) -> bool:
    seen = plan.events.filter(what__in=["seen", "wound_reviewed"]).order_by("at", "pk").last()
    news = [flag.updated_at for flag in flags if flag.state == Flag.State.SETTLED]
    news += [photo.received_at for photo in photos]
    return any(seen is None or at > seen.at for at in news)


def _people(plan: Plan) -> list[Recipient]:
    carers = [carer.person_id for carer in plan.patient.carers.all()]
    people = Recipient.objects.filter(practice=plan.practice, person__in=[plan.patient.owner_id, *carers])
    return list(people.select_related("person", "practice").order_by("pk"))


def _person(recipient: Recipient) -> Person:
    person = recipient.person
    return Person(
        person.pk, person.name, recipient.get_part_display(), person.phone, person.email, path_of(recipient), recipient
    )
