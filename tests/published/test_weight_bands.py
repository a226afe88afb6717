"""Weights at which somebody looks.

P: laboratory policies: inform the vet at -10 %, hard limit at -20 %. D: bands of 5, 10 and 15 %,
reached at the value itself: 900 g gives 855, 810 and 765 g.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.recoveries import guinea_pig, plan_of


@pytest.mark.parametrize(
    ("grams", "monitor", "urgent", "emergency"),
    [(900, "855", "810", "765"), (1000, "950", "900", "850")],
)
def test_bands_of_a_guinea_pig(grams, monitor, urgent, emergency):
    alerts = plan_of(guinea_pig(grams)).weight_alerts
    assert (alerts.monitor, alerts.urgent, alerts.emergency) == (
        Decimal(monitor), Decimal(urgent), Decimal(emergency),
    )  # fmt: skip
