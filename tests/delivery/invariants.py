"""What holds after every step. Each check yields sentences about what is wrong; its number is that of this list.

1 conservation · 2 one row a key, one open a chain, one on its way a person · 3 copies · 4 sent means an outcome with
the token, and an end is an end · 5 nights · 6 nothing after its time, a stop or an end · 7 an old token changes
nothing · 8 a receipt means a row · 9 no reply is passed over, one flag a concern · 10 what was ever urgent stays open
until a named person acts · 11 order of dispatch · 12 again is once · 13 both databases alike · 14 replanning sends
nothing again · 15 practices apart · 16 local days · 17 waits.

5, 6 and part of 15 are looked up by the sink at the moment of a send, 7, 11 and 17 in the seams, 12 and the rest of 15
by Life; what they found comes here. All of it is tried on both databases (tests/test_on_postgres.py), but not one life
on both side by side (13); 16 is not tried here. That an erasure leaves nothing behind (18) is not: there is none yet.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from followup.domain.terms import Level
from followup.models import CheckIn, Count, Dose, Flag, Message, Reply
from followup.services.reply import LEFT_UNFINISHED
from tests.delivery.life import Life
from tests.delivery.seen import OPEN, Seen

State = Message.State
NOT_DONE = frozenset({State.CANCELLED, State.SUPERSEDED})
A_QUARTER = dt.timedelta(minutes=15)


def each_message_has_an_end(seen: Seen) -> Iterator[str]:
    """1: sent, called off, overtaken, or a person has it. An alert is never parked: its flag goes on to others."""
    chains = Counter(each.chain_key for each in seen.messages)
    for message in seen.messages:
        if message.audience == Message.Audience.STAFF and message.state == State.PARKED:
            yield f"1: alert {message.pk} is parked"
        if message.audience == Message.Audience.OWNER and message.state in {State.EXPIRED, State.PARKED, State.FAILED}:
            goes_on = message.state == State.FAILED and chains[message.chain_key] > 1
            if not goes_on and not seen.handed_over(message):
                yield f"1: message {message.pk} is {message.state} and nobody was told"


def nothing_waits_beyond_its_time(seen: Seen) -> Iterator[str]:
    """1: after a whole tick nothing is left that ought to have been dealt with."""
    now = seen.life.now
    for message in seen.messages if seen.life.whole else ():
        if message.state == State.READY and message.expires_at <= now:
            yield f"1: message {message.pk} was to be given up"
        if message.state == State.LEASED and (message.lease_until is None or message.lease_until < now):
            yield f"1: message {message.pk} is leased to nobody"


def each_check_in_is_asked(seen: Seen) -> Iterator[str]:
    """1: a check-in that counts as asked was written, is being written, or is a call."""
    for row in seen.check_ins:
        if row.state == CheckIn.State.ASKED and not _asked_for(seen, "c", row):
            yield f"1: {row} of plan {row.plan_id} counts as asked, and no message asks for it"
        if row.state == CheckIn.State.PLANNED and seen.life.whole and row.at <= seen.life.now:
            yield f"1: {row} of plan {row.plan_id} was due at {row.at} and was not asked"


def each_dose_is_asked_for(seen: Seen) -> Iterator[str]:
    """1: as for check-ins, while it may still be given."""
    for row in seen.doses:
        falls_away = row.plan.patient.owner_id in seen.stopped and not row.held
        if row.give_until <= seen.life.now or falls_away:
            continue
        if row.reminded_at is not None and not _asked_for(seen, "d", row):
            yield f"1: {row} of plan {row.plan_id} counts as asked for, and no message asks for it"
        if row.reminded_at is None and seen.life.whole and row.at <= seen.life.now:
            yield f"1: {row} of plan {row.plan_id} was due at {row.at} and was not asked for"


def _asked_for(seen: Seen, kind: str, row: CheckIn | Dose) -> bool:
    """A newer message in place of the older asks for both."""
    asking = seen.asking.get((kind, row.pk), [])
    newest = {(each.recipient_id, each.collapse_key): each for each in seen.messages if each.collapse_key}
    stand_for_it = [
        *asking,
        *(newest[key] for each in asking if (key := (each.recipient_id, each.collapse_key)) in newest),
    ]
    stopped = any(each.recipient is not None and each.recipient.stopped_at for each in asking)
    return stopped or seen.a_call_instead(kind, row) or any(each.state not in NOT_DONE for each in stand_for_it)


def emergencies_go_on(seen: Seen) -> Iterator[str]:
    """1: an emergency that nobody has in hand has its next alert, soon."""
    for flag in seen.flags if seen.life.whole else ():
        waits = flag.state == Flag.State.OPEN and flag.acknowledged_at is None and not flag.outcome
        soon = flag.next_alert_at is not None and flag.next_alert_at <= seen.life.now + A_QUARTER
        if waits and flag.worst == Level.EMERGENCY and not soon:
            yield f"1: flag {flag.pk} is an emergency, and its next alert is at {flag.next_alert_at}"


def one_at_a_time(seen: Seen) -> Iterator[str]:
    """2: one row a key; of a chain one is open, and each medium is tried once; to a person one is on its way."""
    owners = [each for each in seen.messages if each.audience == Message.Audience.OWNER]
    chained = [each for each in owners if each.chain_key]
    counted: dict[str, Counter[Any]] = {
        "rows of the key": Counter(each.key for each in seen.messages),
        "open of the chain": Counter(each.chain_key for each in chained if each.state in OPEN),
        "rows of the chain and medium": Counter((each.chain_key, each.medium) for each in chained),
        "on their way to": Counter((each.recipient_id, each.medium) for each in owners if each.state == State.LEASED),
    }
    for what, many in counted.items():
        yield from (f"2: {number} {what} {which}" for which, number in many.items() if number > 1)


def no_copies(seen: Seen) -> Iterator[str]:
    """3: a letter more for each send of which nobody knew, two at most; without such a send exactly one."""
    copies = Counter(line.message_id for line in seen.life.sink.lines)
    for message in seen.messages:
        number = copies[message.message_id]
        if number > min(1 + message.unknown_outcomes, 2):
            yield f"3: {number} letters of message {message.pk}, of which {message.unknown_outcomes} sends are unknown"
        if message.state == State.SENT and not number:
            yield f"3: message {message.pk} counts as sent and has not arrived"


def sent_is_sent(seen: Seen) -> Iterator[str]:
    """4: what is sent has a try that went well with a token that held."""
    for message in seen.messages:
        well = {str(each.lease_token) for each in message.send_attempts.all() if each.outcome == "ok"}
        if message.state == State.SENT and not well & seen.life.outside.held.get(message.message_id, set()):
            yield f"4: message {message.pk} is sent without a try that says so"


def an_end_is_an_end(seen: Seen) -> Iterator[str]:
    """4: what has ended stays as it ended."""
    for message in seen.messages:
        ended = seen.life.before.ended.get(message.pk)
        if ended is not None and message.state != ended:
            yield f"4: message {message.pk} was {ended} and is {message.state}"


def nights_are_quiet(seen: Seen) -> Iterator[str]:
    """5, 6, 15: what was forbidden when it was handed in; and the last guard at the door had nothing to do."""
    for line in seen.life.sink.lines:
        yield from (f"{reason}: {line}" for reason in line.wrong)
    if Count.objects.of("night_sends"):
        yield "5: the guard at the channel's door had to keep a message back"


def receipts_hold(seen: Seen) -> Iterator[str]:
    """8: whatever was received is stored."""
    places = [each.pk for each in seen.life.people.practices]
    stored = {(places.index(each.practice_id), each.client_id) for each in seen.replies}
    yield from (f"8: the reply {each} is lost" for each in set(seen.life.receipts) - stored)


def no_reply_is_passed_over(seen: Seen) -> Iterator[str]:
    """9: each is understood, or a person is asked to read it, or it is taken in within minutes."""
    for reply in seen.replies:
        waited = seen.life.now - reply.received_at
        if reply.state == Reply.State.STORED and seen.life.whole and waited >= LEFT_UNFINISHED:
            yield f"9: reply {reply.pk} was not taken in for {waited}"
        asks = any(key.startswith(f"reply:{reply.pk}:") for key in seen.tasks)
        if reply.state == Reply.State.FOR_A_PERSON and not asks:
            yield f"9: reply {reply.pk} is for a person and nobody was asked to read it"


def one_flag_a_concern(seen: Seen) -> Iterator[str]:
    """9: the findings of one concern of one patient are gathered in one open flag."""
    many = Counter((flag.plan_id, flag.concern) for flag in seen.flags if flag.state == Flag.State.OPEN)
    yield from (f"9: {number} open flags of {which}" for which, number in many.items() if number > 1)


def only_a_person_closes(seen: Seen) -> Iterator[str]:
    """10: what was ever urgent or worse is open, or a named person has reviewed it, or the animal has died."""
    for flag in seen.flags:
        worst = max(seen.life.before.worst.get(flag.pk, flag.worst), flag.worst)
        if worst > flag.worst:
            yield f"10: flag {flag.pk} was {Level(worst).word} and its worst is {Level(flag.worst).word} now"
        reviewed = flag.state == Flag.State.REVIEWED and flag.reviewed_by_id is not None
        died = flag.state == Flag.State.ENDED and flag.plan.patient.died_at is not None
        if worst >= Level.URGENT and flag.state != Flag.State.OPEN and not reviewed and not died:
            yield f"10: flag {flag.pk} was {Level(worst).word} and is {flag.state}, by nobody"


def nothing_is_asked_twice(seen: Seen) -> Iterator[str]:
    """14: one check-in, one dose of one amount, is asked of one person in one sent chain, whatever was replanned."""
    chains: dict[tuple[object, ...], set[str]] = {}
    for message in seen.messages:
        if message.state != State.SENT or message.purpose not in {Message.Purpose.CHECK_IN, Message.Purpose.DOSE}:
            continue
        about = [(row.plan_id, row.kind, row.at) for row in message.check_ins.all()]
        doses = [(row.plan_id, row.drug, row.number, row.at, row.amount, row.held) for row in message.doses.all()]
        for what in (*about, *doses):
            chains.setdefault((message.recipient_id, *what), set()).add(message.chain_key)
    yield from (f"14: asked {len(keys)} times: {what}" for what, keys in chains.items() if len(keys) > 1)


def nothing_of_an_old_plan_waits(seen: Seen) -> Iterator[str]:
    """14: no message that waits asks for anything that is asked for no more."""
    for message in seen.messages:
        gone = [each for each in message.doses.all() if each.state in {"cancelled", "ended"}]
        if message.state == State.READY and gone:
            yield f"14: message {message.pk} waits and asks for {gone}"


def nothing_was_found_elsewhere(seen: Seen) -> Iterator[str]:
    """7, 9, 11, 12, 15, 17, and errors in the log: found where they happened."""
    yield from seen.life.wrong.seen


Check = Callable[[Seen], Iterator[str]]
EVERY: tuple[Check, ...] = (
    each_message_has_an_end,
    nothing_waits_beyond_its_time,
    each_check_in_is_asked,
    each_dose_is_asked_for,
    emergencies_go_on,
    one_at_a_time,
    no_copies,
    sent_is_sent,
    an_end_is_an_end,
    nights_are_quiet,
    receipts_hold,
    no_reply_is_passed_over,
    one_flag_a_concern,
    only_a_person_closes,
    nothing_is_asked_twice,
    nothing_of_an_old_plan_waits,
    nothing_was_found_elsewhere,
)


def wrong_now(life: Life) -> list[str]:
    """Everything that does not hold; and remember what there is."""
    seen = Seen(life)
    found = [sentence for check in EVERY for sentence in check(seen)]
    seen.remember()
    return found
