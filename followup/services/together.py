"""Several patients of one owner, asked one after the other on one page. A read model: nothing here writes.

A round is the answers of one sitting about every patient that is due. Its id is made by the page; the answers of each
patient are kept under the round's id and the number of his plan, so that no answer can reach another's.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from followup.domain.questions import next_question, question_before
from followup.domain.silence import EARLY_ANSWER
from followup.models import CheckIn, Plan, Recipient, Reply
from followup.services.check_in_page import EndPage, end_page, shown_at_once
from followup.services.facts import case_to_ask
from followup.services.owner_page import plans_of
from followup.services.raw_answers import given_in

LONGEST_ROUND = 40
"""Characters of a round's id, with room behind it for the number of a plan: our pages make 32."""


@dataclass(frozen=True)
class Turn:
    """One patient in a round. `begun`: something was answered; `open`: questions are left."""

    plan: Plan
    reply: Reply | None
    open: bool

    @property
    def begun(self) -> bool:
        """Whether anything was answered in this sitting."""
        return self.reply is not None


@dataclass(frozen=True)
class Told:
    """What the end page says of one patient. `end` None: nothing that counts has been told yet."""

    turn: Turn
    session: str
    end: EndPage | None


def session_in(round_id: str, plan: Plan) -> str:
    """Under which id the answers about this patient are kept."""
    return f"{round_id}-{plan.pk}"


def turns(recipient: Recipient, round_id: str, *, now: dt.datetime) -> tuple[Turn, ...]:
    """Every patient that is due now or was answered for in this round, by name. Three queries."""
    running = list(plans_of(recipient).running().order_by("patient__name", "pk"))
    sessions = {session_in(round_id, plan): plan for plan in running}
    replies = {
        reply.plan_id: reply for reply in Reply.objects.filter(recipient=recipient, client_id__in=list(sessions))
    }
    due = _due(running, now)
    return tuple(
        _turn(plan, replies.get(plan.pk))
        for plan in running
        if plan.pk in replies or (due.get(plan.pk) and not plan.paused)
    )


def next_turn(every: Sequence[Turn], after: int | None) -> Turn | None:
    """The next patient with questions left, in order behind the one of plan `after`; None: the end of the round."""
    order = [turn.plan.pk for turn in every]
    begin = order.index(after) + 1 if after in order else 0
    return next((turn for turn in every[begin:] if turn.open), None)


def last_question(turn: Turn) -> str:
    """The key of the last question that was put about this patient: where "back" from the next one leads."""
    if turn.reply is None:
        return ""
    planned = turn.reply.raw["questions"]
    return question_before("", planned, given_in(turn.reply), case_to_ask(turn.plan)) or ""


def told_in(every: Sequence[Turn], round_id: str, *, now: dt.datetime) -> tuple[Told, ...]:
    """What to do for each patient, worst first; those of whom nothing was told come last."""
    found = [Told(turn, session_in(round_id, turn.plan), _end(turn, now)) for turn in every]
    return tuple(sorted(found, key=lambda each: (each.end is None, -each.end.advice.level if each.end else 0)))


def _end(turn: Turn, now: dt.datetime) -> EndPage | None:
    """Half an answer has no level yet, unless it is one that cannot wait."""
    if turn.reply is None or (turn.open and not shown_at_once(turn.plan, turn.reply)):
        return None
    return end_page(turn.plan, turn.reply, now=now)


def _turn(plan: Plan, reply: Reply | None) -> Turn:
    if reply is None or "questions" not in reply.raw:
        return Turn(plan, None, open=True)
    left = next_question(reply.raw["questions"], given_in(reply), case_to_ask(plan))
    return Turn(plan, reply, open=left is not None and not plan.paused)


def _due(plans: Sequence[Plan], now: dt.datetime) -> dict[int, list[CheckIn]]:
    waiting = CheckIn.objects.filter(plan__in=plans, state__in=[CheckIn.State.PLANNED, CheckIn.State.ASKED])
    found: dict[int, list[CheckIn]] = defaultdict(list)
    for each in waiting.filter(at__lte=now + EARLY_ANSWER):
        found[each.plan_id].append(each)
    return found
