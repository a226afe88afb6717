"""What a changed plan changes from a moment on: the same for the message, the log and the versions page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

from followup.domain.compiled import CompiledPlan, Medicine, PlannedDose


@dataclass(frozen=True)
class MedicineChange:
    """One medicine whose doses to come are not what they were. None: there are none to come."""

    drug: str
    before: Medicine | None
    after: Medicine | None

    @property
    def amount_changed(self) -> bool:
        """Whether what is drawn up, broken off or in the bottle is another."""
        return _amounts(self.before) != _amounts(self.after)

    @property
    def times_changed(self) -> bool:
        """Whether a dose comes at another time, or there are more or fewer."""
        return _times(self.before) != _times(self.after)


@dataclass(frozen=True)
class PlanChange:
    """Everything that is different from now on."""

    medicines: tuple[MedicineChange, ...]
    check_ins: bool

    def __bool__(self) -> bool:
        """Whether anything is different."""
        return bool(self.medicines) or self.check_ins


@dataclass(frozen=True)
class Past:
    """What a change leaves as it is: the doses that are `over`. Of a drug that is `stopped` an open one is not."""

    now: dt.datetime
    over: Mapping[tuple[str, int], dt.datetime | None]
    stopped: frozenset[str] = frozenset()

    def holds(self, drug: str, dose: PlannedDose) -> bool:
        """Whether this dose is over."""
        still_open = drug in self.stopped and dose.give_until > self.now
        return (drug, dose.number) in self.over and not still_open


def changes(before: CompiledPlan, after: CompiledPlan, past: Past) -> PlanChange:
    """Compare what is to come."""
    old = _to_come(before, past)
    new = {drug: each for drug, each in _to_come(after, past).items() if drug not in past.stopped}
    pairs = [MedicineChange(drug, old.get(drug), new.get(drug)) for drug in dict.fromkeys([*old, *new])]
    return PlanChange(
        medicines=tuple(each for each in pairs if each.amount_changed or each.times_changed),
        check_ins=_asked(before, past.now) != _asked(after, past.now),
    )


def _to_come(plan: CompiledPlan, past: Past) -> dict[str, Medicine]:
    found = {}
    for each in plan.medication:
        doses = tuple(dose for dose in each.doses if not past.holds(each.drug, dose))
        if doses:
            found[each.drug] = replace(each, doses=doses)
    return found


def _amounts(medicine: Medicine | None) -> list[object]:
    if medicine is None:
        return []
    kinds = {_amount(dose): None for dose in medicine.doses}
    return [medicine.mg_per_ml, medicine.mg_per_tablet, medicine.route, *kinds]


def _amount(dose: PlannedDose) -> tuple[object, ...]:
    return dose.ml, dose.tablets, dose.fixed


def _times(medicine: Medicine | None) -> list[dt.datetime]:
    return [] if medicine is None else [dose.at for dose in medicine.doses]


def _asked(plan: CompiledPlan, now: dt.datetime) -> list[dt.datetime]:
    return [each.at for each in plan.check_ins if each.at > now]
