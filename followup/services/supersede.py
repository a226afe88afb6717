"""Messages that have been overtaken: what they ask for is not asked for any more, so they never go out."""

from __future__ import annotations

from collections.abc import Iterable

from followup.models import CheckIn, Dose, Message
from followup.services.unasked import ask_again


def supersede(*, doses: Iterable[Dose] = (), check_ins: Iterable[CheckIn] = ()) -> int:
    """Leave unsent whatever speaks of these rows; what else it asked is asked again, in words that are true.

    Returns how many messages it was.
    """
    waiting = Message.objects.to_owners().filter(state=Message.State.READY)
    overtaken = set(waiting.filter(doses__in=list(doses)).values_list("pk", flat=True))
    overtaken |= set(waiting.filter(check_ins__in=list(check_ins)).values_list("pk", flat=True))
    moved = [pk for pk in sorted(overtaken) if _leave(pk)]
    ask_again(moved)
    return len(moved)


def _leave(pk: int) -> bool:
    ready = Message.objects.filter(pk=pk, state=Message.State.READY)
    return ready.update(state=Message.State.SUPERSEDED) == 1
