"""How much one link may send within an hour: far more than a worried person does, far less than a machine can.

Beyond it nothing is weighed, since that is what costs; words are kept all the same, and a person reads them.
"""

from __future__ import annotations

import datetime as dt

from django.db.models import Q

from followup.models import Recipient, Reply, Task
from followup.services.reply import Incoming, keep

WITHIN = dt.timedelta(hours=1)
MOST = 120
"""Replies of one link within an hour (ours): a check-in is one, however many questions it has."""
MOST_ENTRIES = 400
"""Answers within one of them."""


def is_over(recipient: Recipient, *, now: dt.datetime) -> bool:
    """Whether this link has sent more than anybody would. Two queries at most."""
    lately = Reply.objects.filter(recipient=recipient, received_at__gt=now - WITHIN)
    long_one = Q(**{f"raw__entries__{MOST_ENTRIES}__isnull": False})
    found = list(lately.values_list("pk", flat=True)[: MOST + 1])
    return len(found) > MOST or lately.filter(long_one).exists()


def keep_words(recipient: Recipient, client_id: str, words: str, *, now: dt.datetime) -> None:
    """Store them, once, and ask a person to read; one task an hour, however much comes."""
    if not words.strip():
        return
    reply, new = keep(recipient.practice, None, Incoming(client_id, {"note": words}, words), author=recipient, now=now)
    if not new:
        return
    reply.state = Reply.State.FOR_A_PERSON
    reply.save(update_fields=["state"])
    Task.objects.get_or_create(
        practice_id=recipient.practice_id,
        key=f"flood:{recipient.pk}:{now:%Y%m%d%H}",
        defaults={
            "kind": Task.Kind.READ_WORDS,
            "text": f"Very much comes from the link of {recipient.person}: it is kept and not weighed. Read it, and "
            "ring. If it goes on, renew the link.",
            "due_at": now,
            "made_at": now,
        },
    )
