"""Volumes of oral meloxicam for rats, as an animal-care procedure for rodent analgesia prints them.

P: 1 mg/kg of a 1.5 mg/ml liquid: 0.17, 0.23, 0.30 and 0.37 ml for 250, 350, 450 and 550 g.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from followup.domain.case import Patient
from followup.domain.terms import Procedure, Species
from tests.recoveries import guinea_pig, meloxicam, prescribed


@pytest.mark.parametrize(("grams", "ml"), [(250, "0.17"), (350, "0.23"), (450, "0.30"), (550, "0.37")])
def test_a_milligram_per_kilogram(grams, ml):
    rat = replace(guinea_pig(), patient=Patient(Species.RAT, grams), procedure=Procedure.CASTRATION)
    doses = prescribed(meloxicam(1.0, mg_per_ml=1.5, syringe_ml=1), rat).medicine.doses

    assert {dose.ml for dose in doses} == {Decimal(ml)}  # 0.25 kg x 1 mg/kg / 1.5 mg/ml = 0.1667 ml
