"""The rules cannot be weighed: the answer is kept, the owner is told to phone, a person is called once, and it heals.

Broken for real: text that is no protocol, a key that nobody knows, facts that cannot be read; a bug in one test only.
"""

from __future__ import annotations

import datetime as dt
import logging

import pytest
from django.db.models import QuerySet

from clinic.models import Role
from followup.domain.terms import Level
from followup.models import CheckIn, Event, Flag, Message, Observation, Plan, ProtocolVersion, Reply, Verdict
from followup.services import assess as assessing
from followup.services.morning_list import morning_list
from followup.services.needs import Group
from followup.services.one_by_one import LATER
from followup.services.raw_answers import one_by_one, together
from followup.services.reply import Incoming, answer_one, take_reply
from followup.services.tick import tick
from tests import world as invented
from tests.owner_world import BEDTIME, EVENING, Home, pip_at_home
from tests.services.post import Post

pytestmark = pytest.mark.django_db

UNKNOWN_KEY = '\n[[answer]]\nrule = "x"\nnobody_knows_this = 1\n'


def not_toml(plan: Plan) -> None:
    ProtocolVersion.objects.filter(pk=plan.protocol_id).update(text="rules = [ and then nothing")


def unknown_key(plan: Plan) -> None:
    ProtocolVersion.objects.filter(pk=plan.protocol_id).update(text=plan.protocol.text + UNKNOWN_KEY)


def no_case(plan: Plan) -> None:
    Plan.objects.filter(pk=plan.pk).update(case={"patient": {"name": "Pip"}})


def case_is_words(plan: Plan) -> None:
    Plan.objects.filter(pk=plan.pk).update(case="not a case")


BREAKS = [not_toml, unknown_key, no_case, case_is_words]


@pytest.fixture
def world():
    return pip_at_home()


def tell(world: Home, now: dt.datetime = EVENING, client_id: str = "", **answers: str):
    raw = together({key.replace("__", "."): [each] for key, each in answers.items()})
    return take_reply(world.plan, Incoming(client_id or f"at {now}", raw), author=world.recipient, now=now)


def flags(world: Home):
    return world.plan.flags.filter(concern="not_weighed").order_by("pk")


def as_weighed(flags: QuerySet[Flag]) -> list[dict[str, object]]:
    """The flags without what their alerts change: whom they have called, and what the owner was told by message."""
    alerting = {"step", "next_alert_at", "owner_told", "owner_told_at"}
    return [{key: value for key, value in each.items() if key not in alerting} for each in flags.values()]


def ticks(*moments: dt.datetime) -> None:
    for now in moments:
        tick(now=now, choose=Post())


@pytest.mark.parametrize("breaks", BREAKS)
def test_an_answer_is_kept_taken_in_and_urgent_with_the_number_that_answers(world, breaks):
    breaks(world.plan)
    world.plan.refresh_from_db()

    taken = tell(world, appetite="normal", faeces="normal", demeanour="bright")

    assert Reply.objects.get().raw["answers"]["appetite"] == ["normal"]
    assert Observation.objects.get().facts["appetite"] == "normal"
    assert world.plan.check_ins.get(at=EVENING).state == CheckIn.State.ANSWERED
    assert taken.advice is not None
    assert (taken.advice.level, bool(taken.advice.phone)) == (Level.URGENT, True)
    flag = flags(world).get()
    assert (flag.state, flag.level, flag.worst) == ("open", Level.URGENT, Level.URGENT)
    assert flag.because.startswith("Pip: the rules could not be weighed: ")
    assert flag.owner_told == taken.advice.heading
    assert not world.plan.verdicts.filter(cause="reply").exists()


def test_a_bug_in_triage_does_the_same_and_names_only_its_kind(world, monkeypatch):
    def buggy(*_: object) -> None:
        raise RuntimeError("Ada Field said so")

    monkeypatch.setattr(assessing, "triage", buggy)
    taken = tell(world, appetite="normal")

    assert taken.advice is not None
    assert taken.advice.level == Level.URGENT
    because = "Pip: the rules could not be weighed: an error in the program (RuntimeError)"
    assert flags(world).get().because == because


def test_a_fault_half_way_leaves_nothing_of_the_verdict_behind(world, monkeypatch):
    def full(*_: object, **__: object) -> None:
        raise OSError("the disk is full")

    verdicts = world.plan.verdicts.count()
    monkeypatch.setattr(assessing, "gather", full)
    tell(world, demeanour="dull")

    assert world.plan.verdicts.count() == verdicts
    assert world.plan.observations.count() == 1
    assert flags(world).get().because.endswith("(OSError)")


def test_the_log_has_the_traceback_and_nothing_private(world, caplog):
    def private() -> list[str]:
        return [each for each in ("Pip", "Ada", "Field", "not a case", world.owner.email) if each in caplog.text]

    case_is_words(world.plan)
    with caplog.at_level(logging.INFO):
        tell(world, appetite="normal")

    assert f"plan {world.plan.pk} could not be weighed: BadCase" in caplog.text
    assert "in recovery_of" in caplog.text
    assert private() == []


def test_the_tick_goes_on_with_others_tries_again_and_calls_once(world):
    other = invented.running_plan("rabbit", where=world.practice)
    not_toml(world.plan)
    Plan.objects.update(look_again_at=EVENING)
    ticks(EVENING)

    other.refresh_from_db()
    world.plan.refresh_from_db()
    assert (other.assessed_at, other.not_weighed_at) == (EVENING, None)
    assert (world.plan.not_weighed_at, world.plan.look_again_at) == (EVENING, EVENING + LATER)
    assert world.plan.level == Level.URGENT
    before = as_weighed(flags(world))
    ticks(EVENING + LATER, EVENING + 2 * LATER)

    assert as_weighed(flags(world)) == before
    assert Plan.objects.get(pk=world.plan.pk).not_weighed_at == EVENING
    assert Event.objects.filter(plan=world.plan, what="needs_a_person").count() == 1
    assert not world.plan.tasks.exists()
    advice = Message.objects.filter(plan=world.plan, purpose=Message.Purpose.ADVICE)
    assert not advice.exists()  # time alone alarms no owner: every patient's rules may be broken at once
    assert flags(world).get().owner_told == ""


def test_when_the_rules_work_again_the_flag_says_so_and_waits_for_a_person(world):
    text = world.plan.protocol.text
    not_toml(world.plan)
    tell(world, appetite="normal", faeces="normal", demeanour="bright")
    ProtocolVersion.objects.update(text=text)
    ticks(EVENING + LATER)

    world.plan.refresh_from_db()
    flag = flags(world).get()
    assert (flag.state, flag.level, flag.worst) == ("open", Level.ON_TRACK, Level.URGENT)
    assert "from Mon 18:30 to Mon 18:45; they work again" in flag.because
    assert (world.plan.not_weighed_at, world.plan.level) == (None, Level.ON_TRACK)
    assert world.plan.verdicts.last().at == EVENING + LATER  # what was kept meanwhile has been weighed
    assert Event.objects.filter(plan=world.plan, what="weighed_again").count() == 1
    row = morning_list(world.practice, now=EVENING + LATER).groups[0].rows[0]
    assert row.need is not None
    assert "a newer answer is good" not in row.need.words

    not_toml(world.plan)
    tell(world, BEDTIME, appetite="normal")
    assert [(each.state, each.level, each.count) for each in flags(world)] == [("open", Level.URGENT, 2)]


def test_a_red_answer_is_an_emergency_without_any_rule(world):
    world.on_call()
    not_toml(world.plan)
    tell(world, appetite="normal")
    taken = tell(world, EVENING + LATER, demeanour="collapsed")

    flag = flags(world).get()
    assert taken.advice is not None
    assert taken.advice.level == Level.EMERGENCY
    assert (flag.worst, flag.next_alert_at) == (Level.EMERGENCY, EVENING + LATER)
    assert flag.because.endswith(". Told since: demeanour collapsed")
    post = Post()
    tick(now=EVENING + LATER, choose=post)
    assert any(world.vet.email in letter.to for letter in post.letters)
    assert world.plan.messages.filter(purpose=Message.Purpose.ADVICE, flag=flag).count() == 1


@pytest.mark.parametrize("breaks", BREAKS)
def test_a_red_answer_among_the_questions_is_acted_on_before_the_last(world, breaks):
    breaks(world.plan)
    world.plan.refresh_from_db()
    incoming = Incoming("one", one_by_one(["breathing", "demeanour", "appetite"]))

    calm = answer_one(
        world.plan,
        incoming,
        {"id": "a", "key": "demeanour", "values": ["bright"]},
        author=world.recipient,
        now=EVENING,
    )
    step = answer_one(
        world.plan,
        incoming,
        {"id": "b", "key": "breathing", "values": ["laboured"]},
        author=world.recipient,
        now=EVENING,
    )

    assert (calm.red, step.red) == (False, True)
    assert flags(world).get().worst == Level.EMERGENCY


def test_it_stands_first_of_those_to_call_and_its_owner_is_still_asked(world):
    other = invented.running_plan(where=world.practice)
    take_reply(
        other,
        Incoming("other", together({"appetite": ["normal"], "worried": ["very"]})),
        author=invented.staff(world.practice, Role.FRONT_DESK),
        now=EVENING,
    )
    type(other.patient).objects.filter(pk=other.patient_id).update(name="Abel")
    no_case(world.plan)
    world.plan.refresh_from_db()
    tell(world, appetite="normal")
    ticks(BEDTIME)

    groups = morning_list(world.practice, now=BEDTIME).groups
    call = next(each for each in groups if each.group is Group.CALL_TODAY)
    assert [row.plan.patient.name for row in call.rows if row.plan] == ["Pip", "Abel"]
    assert world.plan.messages.filter(purpose=Message.Purpose.CHECK_IN, state=Message.State.SENT).count() == 1


@pytest.mark.parametrize(
    "changes", [{"state": Plan.State.CLOSED}, {"paused": Plan.Pause.IN_HOSPITAL}], ids=["over", "in a clinic"]
)
def test_who_is_not_followed_at_home_needs_nobody(world, changes):
    not_toml(world.plan)
    ended = {"outcome": "uneventful", "closed_at": EVENING} if "state" in changes else {}
    Plan.objects.filter(pk=world.plan.pk).update(**changes, **ended)
    assessing.assess(world.plan, now=EVENING, cause=Verdict.Cause.TIME)

    assert not flags(world).exists()
    assert world.plan.look_again_at is None


def test_words_that_name_a_death_stay_quiet_towards_the_owner(world):
    not_toml(world.plan)
    incoming = Incoming("a", together({"demeanour": ["collapsed"]}), text="I am sorry to say that he has died.")
    take_reply(world.plan, incoming, author=world.recipient, now=EVENING)

    assert flags(world).get().worst == Level.EMERGENCY
    assert not world.plan.messages.filter(purpose=Message.Purpose.ADVICE).exists()


def test_flags_of_rules_stand_as_they_are_while_nothing_can_be_weighed(world):
    tell(world, worried="very", appetite="normal")
    before = as_weighed(Flag.objects.filter(plan=world.plan))
    not_toml(world.plan)
    ticks(EVENING + LATER)

    assert as_weighed(Flag.objects.filter(plan=world.plan).exclude(concern="not_weighed")) == before
