"""A person looks at whom the rules cannot judge: what a review covers then, and what staff can still do."""

from __future__ import annotations

import datetime as dt

import pytest

from clinic.models import Role
from followup.domain.terms import Level
from followup.services.finish_task import CameOfIt, finish_task
from followup.services.one_by_one import LATER
from followup.services.raw_answers import together
from followup.services.reply import Incoming, take_reply
from followup.services.review import Looked, review
from tests import world as invented
from tests.owner_world import BEDTIME, EVENING, pip_at_home
from tests.services.test_not_weighed import flags, not_toml, tell, ticks
from tests.world import at

pytestmark = pytest.mark.django_db

LOOKED = Looked("rang: eats", "told what to watch", really=Level.ON_TRACK)


@pytest.fixture
def world():
    return pip_at_home()


def test_a_review_covers_what_was_told_up_to_it_and_not_what_comes_after(world):
    not_toml(world.plan)
    tell(world, demeanour="collapsed")
    review(flags(world).get(), LOOKED, staff=world.vet, now=EVENING + dt.timedelta(minutes=5))
    ticks(EVENING + LATER, EVENING + 2 * LATER)
    assert [each.state for each in flags(world)] == ["reviewed"]
    world.plan.refresh_from_db()
    assert world.plan.level == Level.URGENT  # nobody knows, but nothing red stands since a person looked

    tell(world, BEDTIME, demeanour="bright")
    assert [(each.state, each.worst) for each in flags(world)] == [("reviewed", 3), ("open", 2)]


def test_a_patient_that_nobody_can_judge_comes_back_a_day_after_its_review(world):
    not_toml(world.plan)
    tell(world, appetite="normal")
    reviewed = EVENING + dt.timedelta(minutes=5)
    review(flags(world).get(), LOOKED, staff=world.vet, now=reviewed)
    ticks(reviewed + dt.timedelta(hours=24) - LATER)
    assert flags(world).count() == 1

    ticks(reviewed + dt.timedelta(hours=24))
    ticks(reviewed + dt.timedelta(hours=24) + LATER)
    assert [each.state for each in flags(world)] == ["reviewed", "open"]


def test_staff_can_still_finish_what_was_written_and_enrol_the_next(world):
    not_toml(world.plan)
    words = Incoming("words", {}, text="he looks odd")
    take_reply(world.plan, words, author=world.recipient, now=EVENING)
    finish_task(world.plan.tasks.get(kind="read_words"), CameOfIt("rang"), staff=world.vet, now=EVENING + LATER)
    desk = invented.staff(world.practice, Role.FRONT_DESK)
    by_phone = Incoming("phone", together({"appetite": ["none"]}))

    assert take_reply(world.plan, by_phone, author=desk, now=EVENING + LATER).advice is not None
    assert world.plan.tasks.open().count() == 0


def test_what_was_answered_before_the_rules_broke_is_not_red_anew(world):
    tell(world, demeanour="collapsed")
    review(world.plan.flags.get(concern="behaviour"), LOOKED, staff=world.vet, now=at("18:40"))
    not_toml(world.plan)
    tell(world, BEDTIME, demeanour="bright")

    assert flags(world).get().worst == Level.URGENT
