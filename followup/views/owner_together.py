"""Several patients of one owner, one after the other: a round of their check-ins, and one page at its end.

Which patient it is about stands in the address of every question, so that no answer can reach another.
"""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from followup.services.check_in_page import session_reply
from followup.services.together import LONGEST_ROUND, Turn, last_question, next_turn, session_in, told_in, turns
from followup.views.owner import Sitting, ask_in, done_in, is_too_late, take_late
from followup.views.owner_link import Visit, owner_page, page


@owner_page("GET")
def onwards(request: HttpRequest, visit: Visit, session: str) -> HttpResponse:
    """To the next patient with questions left; `after` names the one that was just told of, or is left for later."""
    after = request.GET.get("after", "")
    every = _turns(visit, session)
    turn = next_turn(every, int(after) if after.isdecimal() else None)
    return redirect(_path(visit, session, "done/" if turn is None else f"{turn.plan.pk}/"))


@owner_page("GET", "POST", limited=True)
def ask(request: HttpRequest, visit: Visit, session: str, plan: int) -> HttpResponse:
    """One question about one of them."""
    if is_too_late(request, visit, plan):
        return take_late(request, visit, plan)
    return ask_in(request, visit, _sitting(visit, session, plan))


@owner_page("GET")
def done(request: HttpRequest, visit: Visit, session: str, plan: int) -> HttpResponse:
    """The advice for one of them that cannot wait for the others."""
    return done_in(request, visit, _sitting(visit, session, plan))


@owner_page("GET")
def end(request: HttpRequest, visit: Visit, session: str) -> HttpResponse:
    """The level and the advice of each, the worst first."""
    told = told_in(_turns(visit, session), session, now=visit.now)
    if not any(each.turn.begun for each in told):
        return redirect(visit.home)
    return page(request, visit, "together", told=told, round=session, end=told[0].end)


def _turns(visit: Visit, session: str) -> tuple[Turn, ...]:
    if len(session) > LONGEST_ROUND:
        raise Http404
    return turns(visit.recipient, session, now=visit.now)


def _sitting(visit: Visit, session: str, pk: int) -> Sitting:
    plan, every = visit.plan(pk), _turns(visit, session)
    id_here = session_in(session, plan)
    order = [turn.plan.pk for turn in every]
    place = order.index(pk) if pk in order else len(order)
    before = every[place - 1] if 0 < place < len(order) else None
    where = {"place": place + 1, "of": len(order)}
    return Sitting(
        plan,
        id_here,
        session_reply(plan, visit.recipient, id_here),
        ask=_path(visit, session, f"{pk}/"),
        done=_path(visit, session, f"{pk}/done/"),
        onwards=_path(visit, session, f"?after={pk}"),
        before=_back(visit, session, before) if before is not None else "",
        others=next_turn(every, pk) is not None,
        place=_("%(place)d of %(of)d") % where if place < len(order) else "",
    )


def _back(visit: Visit, session: str, before: Turn) -> str:
    key = last_question(before)
    return _path(visit, session, f"{before.plan.pk}/{f'?q={key}' if key else ''}")


def _path(visit: Visit, session: str, then: str) -> str:
    return f"{visit.home}all/{session}/{then}"
