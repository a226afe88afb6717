"""Put back from an older backup: owners are sent nothing by itself, until a person has looked and confirmed."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest

from clinic.models import Role
from clinic.services.witness import Witness, read_witness, write_witness
from followup.models import CheckIn, Count, Event, Gap, Installation, Message, Notice, Plan, Task
from followup.services.due import next_due
from followup.services.gaps import AlreadyConfirmed, begin, confirm_restored
from followup.services.tick import tick
from followup.services.turns import budget
from tests import world
from tests.services.keeping import backup, put_back
from tests.services.outages import HOUR, MINUTE, SECOND, witnessed
from tests.services.post import Post, message, nothing_waits, state
from tests.services.silent import GOOD, owner_says
from tests.world import at

RESTORED, STOPPED = Gap.Kind.RESTORED, Gap.Kind.STOPPED
MADE, BROKE = at("17:00"), at("23:00")
"""The backup, and the last tick before it was put back: six hours."""

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def run(since: dt.datetime, until: dt.datetime, post: Post) -> None:
    """Ticks five minutes apart."""
    now = since
    while now <= until:
        tick(now=now, choose=post)
        now += 5 * MINUTE


@pytest.mark.django_db(transaction=True)
def test_after_a_backup_of_six_hours_ago_nothing_goes_out_a_second_time():
    plan = world.running_plan()
    run(at("16:35"), MADE, Post())
    kept = backup()
    first = Post()
    run(MADE + 5 * MINUTE, BROKE, first)
    owner_says(plan, at("21:00"), **GOOD)
    assert len(first.letters) >= 2, "asked at 18:30 and at 20:45"

    put_back(kept)
    second = Post()
    run(BROKE + 5 * MINUTE, BROKE + 2 * HOUR, second)

    gap = Gap.objects.get(kind=RESTORED)
    assert (gap.began_at, gap.ended_at) == (MADE, BROKE)
    assert Gap.objects.get(kind=STOPPED).began_at == MADE, "an outage too; the hold wins"
    assert second.letters == []
    waking = at("09:00", day=1)
    vet = world.staff(plan.practice)
    confirm_restored(gap, staff=vet, now=waking)
    run(waking, waking + HOUR, second)
    assert second.letters, "what is due from now on"
    asked = CheckIn.objects.filter(messages__state=Message.State.SENT, plan=plan)
    assert {each.at for each in asked} & {at("18:30"), at("20:45")} == set()
    [text] = [text for text in plan.tasks.values_list("text", flat=True) if "backup" in text]
    assert "what was answered, told or entered between Mon 10 Mar 17:00 and Mon 10 Mar 23:00 is lost" in text
    assert "the check-in of Mon 10 Mar 18:30 (perhaps sent); the check-in of Mon 10 Mar 20:45 (perhaps sent)" in text


@pytest.mark.django_db(transaction=True)
def test_what_left_in_a_tick_that_never_came_to_its_end_is_not_sent_again():
    plan = world.running_plan()
    run(at("16:35"), MADE, Post())
    kept = backup()
    nothing_waits(plan)
    off_at = MADE + 8 * MINUTE
    message(plan, to=plan.practice.recipients.get(), now=off_at, expires_at=off_at + HOUR)

    class Off(BaseException):
        """The power, while the letter is on its way."""

    def off() -> None:
        raise Off

    post = Post(meanwhile=off)
    with pytest.raises(Off):
        tick(now=off_at, choose=post)
    assert len(post.letters) == 1, "it has left"

    put_back(kept)
    tick(now=off_at + MINUTE, choose=post)

    assert Gap.objects.get(kind=RESTORED).ended_at == off_at
    assert len(post.letters) == 1


@pytest.fixture
def plan() -> Plan:
    """Pip's, with a first tick at 17:00 by a database that its witness says had got to 23:00."""
    made = world.running_plan()
    nothing_waits(made)
    tick(now=MADE, choose=Post())
    witnessed(ticks=1000, last=BROKE)
    return made


def found(now: dt.datetime = BROKE + MINUTE, post: Post | None = None) -> Gap:
    tick(now=now, choose=post or Post())
    return Gap.objects.get(kind=RESTORED)


@pytest.mark.parametrize("leased", [False, True])
def test_what_was_due_by_the_gaps_end_is_parked_and_what_comes_later_is_not(plan, leased):
    robin = plan.practice.recipients.get()
    due = message(plan, to=robin, now=MADE, key="due", not_before=BROKE, expires_at=BROKE + 20 * HOUR)
    later = message(plan, to=robin, now=MADE, key="later", not_before=BROKE + SECOND, expires_at=BROKE + 20 * HOUR)
    if leased:
        Message.objects.filter(key="due").update(state="leased", lease_token=uuid.uuid4(), lease_until=MADE + MINUTE)

    found()

    assert (state(due), state(later)) == (Message.State.PARKED, Message.State.READY)
    [call] = plan.tasks.filter(kind=Task.Kind.PHONE)
    assert "What was due: “How is Pip?” of Mon 10 Mar 17:00 (perhaps sent)" in call.text


def test_what_fell_due_in_the_gap_is_not_asked_reminded_of_or_told_again(plan):
    asked = plan.check_ins.get(at=at("18:30"))
    CheckIn.objects.filter(pk=asked.pk).update(state=CheckIn.State.ASKED, asked_at=MADE, remind_at=at("19:00"))
    notice = plan.notices.earliest("at")
    Notice.objects.filter(pk=notice.pk).update(at=at("20:00"))
    dose = plan.doses.earliest("at")
    plan.doses.filter(pk=dose.pk).update(at=at("22:00"), not_before=at("21:00"), give_until=at("12:00", day=1))

    found()

    asked.refresh_from_db()
    notice.refresh_from_db()
    dose.refresh_from_db()
    unasked = plan.check_ins.get(at=at("20:45"))
    assert (unasked.state, unasked.could_not_be_asked) == (CheckIn.State.ASKED, True)
    assert (asked.remind_at, notice.done_at, dose.reminded_at) == (None, BROKE + MINUTE, BROKE + MINUTE)
    assert plan.events.filter(what="notice_left").count() == 1
    assert not plan.messages.filter(purpose__in=["check_in", "dose", "reminder", "news"]).exists()
    assert plan.check_ins.filter(at__gt=BROKE).exclude(state=CheckIn.State.PLANNED).count() == 0


def test_one_call_for_each_patient_and_one_task_for_each_practice_however_many_ticks_follow(plan):
    other = world.running_plan("rabbit")
    for minutes in range(1, 6):
        found(BROKE + minutes * MINUTE)

    assert [Task.objects.filter(plan=each, text__contains="backup").count() for each in (plan, other)] == [1, 1]
    look = Task.objects.get(plan=None, practice=plan.practice)
    assert "between Mon 10 Mar 17:00 and Mon 10 Mar 23:00 is lost, and so are patients" in look.text
    assert Event.objects.filter(what=RESTORED).count() == 1


def test_alerts_to_staff_go_on_while_owners_wait(plan):
    vet = world.staff(plan.practice)
    world.on_call(plan.practice, vet)
    owner_says(plan, BROKE, demeanour=["collapsed"], appetite=["none"])
    post = Post()

    found(post=post)

    assert {letter.to for letter in post.letters} == {vet.email}
    assert plan.messages.to_owners().filter(state=Message.State.SENT).count() == 0
    assert budget(BROKE + MINUTE) == 0


def test_new_messages_to_owners_wait_and_what_expires_is_in_the_one_call(plan):
    found()
    robin = plan.practice.recipients.get()
    row = message(plan, to=robin, now=BROKE + 2 * MINUTE, expires_at=BROKE + HOUR)
    for minutes in (2, 30, 59, 61):
        tick(now=BROKE + minutes * MINUTE, choose=Post())
        row.refresh_from_db()
        assert row.not_before == BROKE + 2 * MINUTE, "no worker has taken it"

    assert (state(row), row.attempts) == (Message.State.EXPIRED, 0)
    [call] = plan.tasks.filter(kind=Task.Kind.PHONE)
    assert call.text.endswith("“How is Pip?” of Mon 10 Mar 23:02 (not sent)")


def test_whoever_confirms_lets_messages_go_slowly_and_is_written_down(plan):
    gap = found()
    vet = world.staff(plan.practice, Role.VET)
    now = at("09:00", day=1)
    row = message(plan, to=plan.practice.recipients.get(), now=now, expires_at=now + HOUR)

    confirm_restored(gap, staff=vet, now=now)
    tick(now=now, choose=Post())

    gap.refresh_from_db()
    assert (gap.confirmed_by, gap.confirmed_at, gap.holds) == (vet, now, False)
    assert (state(row), budget(now)) == (Message.State.SENT, 18)  # the check-in of 07:30 has gone too
    assert Event.objects.get(what="restore_confirmed").staff == vet
    with pytest.raises(AlreadyConfirmed, match="has confirmed this one already"):
        confirm_restored(gap, staff=vet, now=now)


def test_a_worker_in_the_midst_of_sending_stops_when_a_backup_is_found_by_another(plan):
    witnessed(ticks=0, last=MADE)
    robin = plan.practice.recipients.get()
    for number in range(3):
        message(plan, to=robin, now=MADE, key=f"number {number}")
    post = Post(meanwhile=lambda: Gap.objects.get_or_create(kind=RESTORED, began_at=MADE, ended_at=MADE + MINUTE))

    tick(now=MADE, choose=post)

    assert len(post.letters) == 1
    assert plan.messages.filter(state=Message.State.READY, not_before__gt=MADE, attempts=0).count() == 2


def test_a_tick_that_another_process_begins_meanwhile_is_no_backup(monkeypatch):
    tick(now=MADE, choose=Post())

    def read_late() -> Witness | None:
        before = Installation.objects.begun(now=BROKE)
        write_witness(Witness(before.epoch, before.ticks, BROKE))
        return read_witness()

    monkeypatch.setattr("followup.services.gaps.read_witness", read_late)
    begin(now=BROKE)

    assert not Gap.objects.filter(kind=RESTORED).exists()


def test_an_outage_cannot_be_confirmed():
    gap = Gap.objects.create(kind=STOPPED, began_at=MADE, ended_at=BROKE)

    with pytest.raises(AlreadyConfirmed):
        confirm_restored(gap, staff=world.staff(world.practice(seeded=False)), now=BROKE)

    assert Gap.objects.get().confirmed_at is None


@pytest.mark.parametrize(
    ("ticks", "last", "why"),
    [
        (1000, MADE + 60 * SECOND, "a power cut may lose a minute"),
        (1, BROKE, "a clock that went back, and not the database"),
        (0, BROKE, "another host's witness of long ago"),
    ],
)
def test_what_is_no_older_backup(plan, ticks, last, why):
    witnessed(ticks=ticks, last=last)

    tick(now=BROKE + MINUTE, choose=Post())

    assert not Gap.objects.filter(kind=RESTORED).exists(), why


def test_a_second_tick_that_finds_the_same_holds_once_and_confirmed_it_stays_confirmed(plan):
    gap = found()
    confirm_restored(gap, staff=world.staff(plan.practice), now=BROKE + 2 * MINUTE)
    witness = read_witness()
    assert witness is not None
    witnessed(ticks=witness.ticks, last=witness.at)

    tick(now=BROKE + 3 * MINUTE, choose=Post())

    assert Gap.objects.filter(kind=RESTORED).count() == 1
    assert not Gap.objects.holding().exists()
    assert Count.objects.count() == 0
    assert next_due(BROKE + 3 * MINUTE) is not None
