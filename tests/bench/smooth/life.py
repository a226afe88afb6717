"""One smooth recovery lived through: check-ins, doses and time passing, each weighed by triage as the program does."""

from __future__ import annotations

import datetime as dt
import heapq
import itertools
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from followup.domain.acting import acted_on_from, to_act_on
from followup.domain.bounds import HOUR
from followup.domain.compiled import CompiledPlan, PlannedCheckIn
from followup.domain.observation import DoseReport, Observation
from followup.domain.recovery import Recovery, Release
from followup.domain.silence import A_CALL_SPARES, NOT_TRIAGED
from followup.domain.terms import Concern, Observer
from followup.domain.triage import triage
from followup.domain.verdict import Ask, Verdict
from tests.bench.smooth import owners
from tests.bench.smooth.answering import ON_THE_PHONE, Teller
from tests.bench.smooth.flag_life import Alert, Flags
from tests.bench.smooth.owners import MINUTE, Answering
from tests.bench.smooth.practice import AGAIN, reaches_the_owner, rings_at

MOST_EXTRA_A_DAY = 6
"""Questions beyond the schedule. Source: clinical defaults, 7 (D)."""
DAY = 24 * HOUR


Happens = Callable[[dt.datetime], bool]
"""What happens at a moment; False: it came to nothing, and nothing is to be weighed."""


@dataclass
class Life:
    """One recovery as it goes on. `completed`: planned check-ins that the owner answered."""

    recovery: Recovery
    teller: Teller
    on_the_phone: Teller
    answering: Answering
    rng: random.Random
    ends: dt.datetime
    flags: Flags = field(default_factory=Flags)
    alerts: list[Alert] = field(default_factory=list)
    completed: list[dt.datetime] = field(default_factory=list)
    asked: int = 0
    weighed: int = 0

    def __post_init__(self) -> None:
        """Nothing has happened yet."""
        self._queue: list[tuple[dt.datetime, int, Happens]] = []
        self._number = itertools.count()
        self._open: list[PlannedCheckIn] = []
        self._extra_at: list[dt.datetime] = []
        self._look_at: dt.datetime | None = None
        self._ask: Ask | None = None
        self._held: tuple[str, ...] = ()

    def plan_ahead(self, plan: CompiledPlan, extra: Sequence[Observation] = ()) -> None:
        """Put down when check-ins are answered and doses reported; `extra` is put in by hand."""
        for check_in in plan.check_ins:
            if check_in.kind not in NOT_TRIAGED:
                self.asked += 1
                at = self.answering.answers_at(check_in.at, self.recovery.case.since_surgery(check_in.at) / DAY)
                self._put(at, partial(self._check_in, check_in))
                self._open += [check_in] if at is not None else []
        for medicine in plan.medication:
            for dose in medicine.doses:
                self._put(dose.at + self.rng.uniform(0, 60) * MINUTE, partial(self._dose, medicine.drug))
        for seen in extra:
            self._put(seen.at, partial(self._see, seen))
        self._weigh(self.recovery.case.discharged_at)

    def run(self) -> None:
        """Until the recovery's last day."""
        while self._queue and self._queue[0][0] <= self.ends:
            now, _, happens = heapq.heappop(self._queue)
            if happens(now):
                self._weigh(now)

    def _put(self, at: dt.datetime | None, happens: Happens) -> None:
        if at is not None:
            heapq.heappush(self._queue, (at, next(self._number), happens))

    def _look(self, now: dt.datetime) -> bool:
        """Time alone may have raised something; a look that has been put off comes to nothing."""
        return now == self._look_at

    def _check_in(self, check_in: PlannedCheckIn, now: dt.datetime) -> bool:
        """One answer also answers every other check-in that stands open; a call may have spared it altogether."""
        if check_in not in self._open or self._spared(check_in):
            return False
        now_answered = [each for each in self._open if each.at <= now]
        self._open = [each for each in self._open if each not in now_answered]
        self.completed += [now] * len(now_answered)
        planned = tuple(dict.fromkeys(key for each in now_answered for key in each.questions))
        return self._see(self.teller.tells(planned, now, self._last_told(), counts=True), now)

    def _spared(self, check_in: PlannedCheckIn) -> bool:
        """Whether a call of the practice has dropped the check-in before it was due."""
        calls = [seen.at for seen in self.recovery.observations if seen.by is Observer.STAFF]
        return any(check_in.at - A_CALL_SPARES <= at <= check_in.at for at in calls)

    def _ask_extra(self, ask: Ask, now: dt.datetime) -> bool:
        """The question that triage wanted is put, if it is still wanted; it may be answered later."""
        today = [at for at in self._extra_at if at > now - DAY]
        if self._ask is not None and self._ask.at == ask.at and len(today) < MOST_EXTRA_A_DAY:
            self._extra_at.append(now)
            at = self.answering.answers_at(now, self.recovery.case.since_surgery(now) / DAY)
            self._put(at, partial(self._extra, ask))
        return False

    def _extra(self, ask: Ask, now: dt.datetime) -> bool:
        return self._see(self.teller.tells(ask.questions, now, self._last_told()), now)

    def _dose(self, drug: str, now: dt.datetime) -> bool:
        """A held dose waits for a vet, and is not given."""
        if drug in self._held or not self.answering.ever or self.rng.random() >= owners.DOSE_REPORTED:
            return False
        outcome = self.rng.choices(list(owners.DOSES), list(owners.DOSES.values()))[0]
        return self._see(Observation(at=now, dose=DoseReport(drug, outcome)), now)

    def _call(self, concern: Concern, now: dt.datetime) -> bool:
        """A person rings about a flag: told truly what is so, he closes it, and lets a held drug go on."""
        if concern not in self.flags.open:
            return False
        if not reaches_the_owner(self.rng):
            self._put(now + AGAIN, partial(self._call, concern))
            return False
        self._see(self.on_the_phone.tells(ON_THE_PHONE, now, self._last_told()), now)
        if concern is Concern.MEDICINE:
            let_go = tuple(Release(drug, now) for drug in self._held)
            self.recovery = replace(self.recovery, releases=(*self.recovery.releases, *let_go))
        self._weigh(now)
        if concern in self.flags.open:
            self.flags.review(concern, now)
        return True

    def _see(self, seen: Observation, _now: dt.datetime) -> bool:
        self.recovery = replace(self.recovery, observations=(*self.recovery.observations, seen))
        return True

    def _last_told(self) -> dt.datetime:
        told = [seen.at for seen in self.recovery.observations if seen.answers_a_check_in()]
        return told[-1] if told else self.recovery.case.discharged_at

    def _weigh(self, now: dt.datetime) -> None:
        """As `followup/services/assess.py` does it: verdict, flags, the next question, the next look."""
        verdict = triage(self.recovery, now)
        self.weighed += 1
        waits_until = acted_on_from(self.recovery, verdict)
        acted_on = to_act_on(verdict.findings, waits=waits_until is not None)
        risen = self.flags.follow(acted_on, verdict.by_concern(), now)
        self.alerts.extend(risen)
        self._held = verdict.held_drugs
        for alert in risen:
            self._put(rings_at(alert, self.recovery.case.hours.zone, self.rng), partial(self._call, alert.concern))
        self._ask_beyond_the_schedule(verdict)
        moments = [at for at in (verdict.look_again_at, verdict.next_rise_at, waits_until) if at is not None]
        self._look_at = min(moments, default=None)
        self._put(self._look_at, self._look)

    def _ask_beyond_the_schedule(self, verdict: Verdict) -> None:
        """Keep one question ahead; the one before it that has not been put yet is forgotten."""
        if verdict.ask is not None and (self._ask is None or verdict.ask.at != self._ask.at):
            self._put(verdict.ask.at, partial(self._ask_extra, verdict.ask))
        self._ask = verdict.ask
