"""What is stored after a step, read once for every invariant, and what was seen of it before."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from followup.domain.terms import Level
from followup.models import CheckIn, Dose, Flag, Message, Plan, Recipient, Reply, Task
from followup.services.not_sent import line_of, lines_of
from tests.delivery.life import Life

OPEN = frozenset({Message.State.READY, Message.State.LEASED})


@dataclass
class Seen:
    """One look at everything."""

    life: Life

    @cached_property
    def messages(self) -> list[Message]:
        """All of them, with what they ask for and every try."""
        whole = Message.objects.select_related("plan", "recipient", "flag").order_by("pk")
        return list(whole.prefetch_related("check_ins", "doses", "send_attempts"))

    @cached_property
    def tasks(self) -> set[str]:
        """The keys of everything that a person was asked to do."""
        return set(Task.objects.values_list("key", flat=True))

    @cached_property
    def listed(self) -> dict[int | None, str]:
        """What the calls of each plan list because of a gap."""
        found: dict[int | None, str] = {}
        for plan, text in Task.objects.filter(key__startswith="gap:").values_list("plan_id", "text"):
            found[plan] = found.get(plan, "") + text
        return found

    @cached_property
    def flags(self) -> list[Flag]:
        """All of them."""
        return list(Flag.objects.select_related("plan__patient"))

    @cached_property
    def replies(self) -> list[Reply]:
        """All of them."""
        return list(Reply.objects.all())

    @cached_property
    def check_ins(self) -> list[CheckIn]:
        """Those of follow-ups that go on."""
        return list(
            CheckIn.objects.select_related("plan__practice").filter(plan__state=Plan.State.RUNNING, plan__paused="")
        )

    @cached_property
    def doses(self) -> list[Dose]:
        """Those of follow-ups that go on, not yet told of."""
        going_on = {"plan__state": Plan.State.RUNNING, "plan__paused": "", "state": Dose.State.PLANNED}
        return list(Dose.objects.select_related("plan__practice", "plan__patient").filter(**going_on))

    @cached_property
    def stopped(self) -> set[int]:
        """The people who want no messages, or once wanted none: a dose's reminder falls away then, without a call."""
        now = Recipient.objects.exclude(stopped_at=None).values_list("person_id", flat=True)
        return self.life.before.stopped.union(now)

    @cached_property
    def asking(self) -> dict[tuple[str, int], list[Message]]:
        """The messages that ask for each check-in ("c") and dose ("d"), reminders left out."""
        found: dict[tuple[str, int], list[Message]] = {}
        for message in self.messages:
            if message.purpose != Message.Purpose.REMINDER:
                for kind, rows in (("c", message.check_ins.all()), ("d", message.doses.all())):
                    for row in rows:
                        found.setdefault((kind, row.pk), []).append(message)
        return found

    def handed_over(self, message: Message) -> bool:
        """Whether a person was asked to do what the message could not, by itself or in a list of what a gap left."""
        listed = [line in self.listed.get(plan.pk, "") for plan, line in lines_of(message)]
        return f"undelivered:{message.pk}" in self.tasks or (bool(listed) and all(listed))

    def a_call_instead(self, kind: str, row: CheckIn | Dose) -> bool:
        """Whether a call stands on the list in place of a message that asks for this."""
        if line_of(row) in self.listed.get(row.plan_id, ""):
            return True
        asked = [key.split(":")[-1].split("-") for key in self.tasks if key.startswith("phone:ask:")]
        return any(part.rstrip("hr") == f"{kind}{row.pk}" for parts in asked for part in parts)

    def remember(self) -> None:
        """What later steps are compared with."""
        self.life.before.stopped |= self.stopped
        self.life.before.ended |= {each.pk: each.state for each in self.messages if each.state not in OPEN}
        for flag in self.flags:
            worst = max(self.life.before.worst.get(flag.pk, Level.ON_TRACK), flag.level, flag.worst)
            self.life.before.worst[flag.pk] = worst
