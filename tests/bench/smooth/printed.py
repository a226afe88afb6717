"""The simulation's figures, printed: every rate with its numerator and denominator."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence

from followup.domain.terms import Level, Species
from tests.bench.smooth.misreported import SPECIFIC, Errors, kappa
from tests.bench.smooth.run import Lived, owners_errors, simulated

SEED = 2025
RECOVERIES = 1000
SECOND_READING = 200
GOAL, WRONG = "8 to 15", 34
"""Alerts per 100 completed check-ins. Source: evidence A5 and B4."""
NOISIEST = 5
DAYS: dict[str, Callable[[int], bool]] = {
    "day 0": lambda day: day == 0,
    "day 1": lambda day: day == 1,
    "day 2": lambda day: day == 2,
    "days 3 to 14": lambda day: day > 2,
}


def smooth() -> None:
    """Print it."""
    begun = time.perf_counter()
    errors = owners_errors(SEED)
    found = simulated(RECOVERIES, SEED, errors)
    print(f"simulation of {RECOVERIES} smooth recoveries, none of them ill; seed {SEED}; {_seconds(begun)}")
    print(
        "  assumed: tests/bench/smooth, assumed.py (courses), owners.py (answers), practice.py, misreported.py; owners"
    )
    print(f"  {_owners(errors)}; kappa of what they told {_kappa(found):.2f} (published 0.34 to 0.38)")
    for line in figures(found):
        print(f"  {line}")
    begun = time.perf_counter()
    other = owners_errors(SEED, end=SPECIFIC)
    second = simulated(SECOND_READING, SEED, other)
    print(f"  second reading, {SECOND_READING} recoveries, owners {_owners(other)}; {_seconds(begun)}")
    print(f"    alerts: {_rate(_alerts(second), _completed(second))}; kappa {_kappa(second):.2f}")


def figures(found: Sequence[Lived]) -> tuple[str, ...]:
    """The lines of one run."""
    asked = sum(each.asked for each in found)
    quiet = sum(not each.alerts for each in found)
    emergencies = sum(level is Level.EMERGENCY for each in found for _, level, _ in each.alerts)
    rules = Counter(rule for each in found for _, _, rule in each.alerts)
    return (
        f"check-ins completed: {_completed(found)} of {asked} that were planned",
        f"alerts (a flag opened at or raised to urgent or emergency): {_rate(_alerts(found), _completed(found))}",
        f"  goal {GOAL}, above {WRONG} something is wrong (evidence A5 and B4: goals, not requirements)",
        f"of them emergencies: {_rate(emergencies, _completed(found))}",
        *(_of_species(species, found) for species in Species),
        *(f"{name}: {_of_day(fits, found)}" for name, fits in DAYS.items()),
        f"recoveries without an alert: {quiet} of {len(found)} ({100 * quiet / len(found):.1f} %)",
        "rules behind most alerts: " + ", ".join(f"{rule} {count}" for rule, count in rules.most_common(NOISIEST)),
    )


def _of_species(species: Species, found: Sequence[Lived]) -> str:
    own = [each for each in found if each.species is species]
    return f"{species.value.replace('_', ' ')}, {len(own)} recoveries: {_rate(_alerts(own), _completed(own))}"


def _of_day(fits: Callable[[int], bool], found: Sequence[Lived]) -> str:
    alerts = sum(fits(day) for each in found for day, _, _ in each.alerts)
    return _rate(alerts, sum(fits(day) for each in found for day in each.completed))


def _rate(alerts: int, completed: int) -> str:
    shown = f"{100 * alerts / completed:.1f}" if completed else "no figure"
    return f"{shown} per 100 ({alerts} alerts, {completed} completed check-ins)"


def _alerts(found: Sequence[Lived]) -> int:
    return sum(len(each.alerts) for each in found)


def _completed(found: Sequence[Lived]) -> int:
    return sum(len(each.completed) for each in found)


def _kappa(found: Sequence[Lived]) -> float:
    return kappa((true, told, 1) for each in found for true, told, _ in each.told)


def _owners(errors: Errors) -> str:
    ends, between = 100 * errors.at_an_end, 100 * errors.between
    return f"wrong by one grade in {ends:.1f} % at nothing and at the most severe, {between:.1f} % between"


def _seconds(begun: float) -> str:
    return f"{time.perf_counter() - begun:.0f} s"
