"""What stands against a drug, a patient or a strength, species by species. Source: clinical defaults, 8 and 14."""

from __future__ import annotations

from dataclasses import replace

import pytest

from followup.domain.case import DischargeCard, Prescription
from followup.domain.plan import compile_plan
from followup.domain.terms import Caution, Form, Species
from followup.protocols.load import load
from followup.protocols.load_formulary import formulary
from tests.domain.test_medicine_table import NEEDS_VET, REFUSED, WARNING, asked, clinic, kinds, patient
from tests.recoveries import found, prescribed

BY_MOUTH = (
    "amoxicillin", "co-amoxiclav", "amoxicillin-clavulanate", "amoxicillin-clavulanic acid", "ampicillin", "penicillin",
    "penicillin v", "penicillin g", "phenoxymethylpenicillin", "benzylpenicillin", "clindamycin", "lincomycin",
    "erythromycin", "cefalexin", "cephalexin", "cefadroxil", "cefuroxime", "cefaclor", "cefixime", "cefpodoxime",
)  # fmt: skip


@pytest.mark.parametrize("drug", BY_MOUTH)
@pytest.mark.parametrize("species", ["guinea_pig", "rabbit"])
def test_antibiotics_that_kill_a_grazers_gut_are_refused_by_mouth(species, drug):
    assert REFUSED in kinds(asked(drug, 5), patient(species), "drug")


@pytest.mark.parametrize("species", list(Species))
@pytest.mark.parametrize("drug", ["ibuprofen", "naproxen", "diclofenac"])
def test_painkillers_for_people_are_refused_in_all_six(species, drug):
    assert REFUSED in kinds(asked(drug, 1), patient(species), "drug")


@pytest.mark.parametrize(
    ("species", "drug"), [("cat", "paracetamol"), ("cat", "permethrin"), ("cat", "carprofen"), ("rabbit", "fipronil")]
)
def test_what_is_never_given_to_this_species(species, drug):
    assert REFUSED in kinds(asked(drug, 1), patient(species), "drug")


@pytest.mark.parametrize("species", ["dog", "guinea_pig"])
def test_aspirin_needs_a_vet(species):
    assert NEEDS_VET in kinds(asked("aspirin", 1), patient(species), "drug")


@pytest.mark.parametrize("caution", list(Caution))
@pytest.mark.parametrize("species", ["cat", "rat"])
def test_each_caution_stops_an_nsaid_until_a_vet_confirms(species, caution):
    case = patient(species, given_in_clinic=clinic("meloxicam", 0.2))
    case = replace(case, patient=replace(case.patient, cautions=frozenset({caution})))
    assert "$.patient.cautions" in found(prescribed(asked("meloxicam", 0.05), case).problems, NEEDS_VET)
    harmless = prescribed(asked("gabapentin", 10, every=12), case).problems
    assert "$.patient.cautions" not in [each.path for each in harmless]


@pytest.mark.parametrize(
    ("species", "least"),
    [("guinea_pig", 37.9), ("rabbit", 37.9), ("cat", 37.0), ("dog", 37.0), ("rat", 36.0), ("ferret", 37.5)],
)
def test_each_species_has_its_least_temperature_for_going_home(species, least):
    for celsius, asks in ((least, False), (round(least - 0.1, 1), True)):
        case = patient(species, discharge=DischargeCard(temperature_c=celsius), home_medication=())
        plan = compile_plan(case, load(f"{species}_spay"), formulary())
        assert ("$.discharge.temperature_c" in found(plan.problems, NEEDS_VET)) is asks


@pytest.mark.parametrize("species", ["cat", "dog", "ferret", "rat"])
def test_only_grazers_must_be_known_to_have_eaten(species):
    case = patient(species, last_ate_before_discharge_at=None, home_medication=())
    plan = compile_plan(case, load(f"{species}_spay"), formulary())
    assert "$.last_ate_before_discharge_at" not in [each.path for each in plan.problems]


@pytest.mark.parametrize(
    ("species", "least", "most"),
    [
        ("guinea_pig", 250, 1600),
        ("rabbit", 500, 10000),
        ("cat", 500, 12000),
        ("dog", 500, 90000),
        ("ferret", 300, 2500),
        ("rat", 80, 900),
    ],
)
def test_a_weight_outside_the_plausible_range_needs_a_vet(species, least, most):
    for grams, asks in ((least - 1, True), (least, False), (most, False), (most + 1, True)):
        case = patient(species, grams=grams, home_medication=())
        plan = compile_plan(case, load(f"{species}_spay"), formulary())
        assert ("$.patient.weight_g" in found(plan.problems, NEEDS_VET)) is asks, grams


@pytest.mark.parametrize(("mg_per_kg", "says"), [(1.0, False), (1.01, True)])
def test_more_than_ten_times_the_usual_amount_names_the_unit(mg_per_kg, says):
    problems = prescribed(asked("meloxicam", mg_per_kg), patient("guinea_pig")).problems
    assert any("10 times" in each.message and "microgram" in each.message for each in problems) is says


@pytest.mark.parametrize(
    ("drug", "strength", "says"),
    [
        ("meloxicam", 0.5, False), ("meloxicam", 1.5, False), ("meloxicam", 5, True), ("meloxicam", 0.15, True),
        ("meloxicam", 15, True), ("meloxicam", 0.05, True),
    ],
)  # fmt: skip
def test_a_strength_that_is_not_sold_names_the_unit_and_converts_nothing(drug, strength, says):
    case = patient("guinea_pig", given_in_clinic=clinic("meloxicam", 0.2))
    result = prescribed(replace(asked(drug, 0.1), mg_per_ml=strength), case)
    said = [each.message for each in result.problems if each.path.endswith("mg_per_ml")]
    assert any("per cent or mg/ml" in each for each in said) is says
    assert result.medicine.mg_per_ml is not None
    assert float(result.medicine.mg_per_ml) == strength


def test_off_label_use_that_nobody_explained_warns():
    case = patient("rat", given_in_clinic=clinic("meloxicam", 1))
    assert WARNING in kinds(asked("meloxicam", 1, off_label_explained=None), case, "off_label_explained")
    assert kinds(asked("meloxicam", 1, off_label_explained=True), case, "off_label_explained") == set()


@pytest.mark.parametrize(
    ("mg_per_kg", "parts", "tablets", "warns"),
    [
        (1.0, 2, "1", False),  # 4 kg: 4 mg of 4 mg tablets
        (0.75, 2, "0.5", True),  # 3 mg: three quarters, a tie goes down, a third less
        (0.75, 4, "0.75", False),
        (1.1, 2, "1", False),  # 4.4 mg: 9 % less
    ],
)
def test_tablets_go_to_the_nearest_part_a_tie_down(mg_per_kg, parts, tablets, warns):
    tablet = Prescription(
        "gabapentin", 12, 1, form=Form.TABLET, mg_per_kg=mg_per_kg, mg_per_tablet=4, tablet_parts=parts
    )
    result = prescribed(tablet, patient("cat"))
    assert {f"{dose.tablets}" for dose in result.medicine.doses} == {tablets}
    assert ("$.home_medication[0].mg_per_tablet" in found(result.problems, WARNING)) is warns
