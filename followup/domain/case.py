"""One patient's recovery as facts: who it is, what was done, what was given. The shape of a case file, typed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from followup.domain.hours import OwnerHours
from followup.domain.terms import (
    Approach,
    BloodLoss,
    Caution,
    ClinicRoute,
    Closure,
    Company,
    Form,
    Formulation,
    HomeRoute,
    Jurisdiction,
    Procedure,
    RingOrTunic,
    Sex,
    Species,
)


@dataclass(frozen=True)
class Patient:
    """`weight_g` is the weight at discharge, the baseline for every change; `age_months` on the day of surgery."""

    species: Species
    weight_g: float
    name: str = ""
    sex: Sex = Sex.UNKNOWN
    age_months: float | None = None
    cautions: frozenset[Caution] = frozenset()


@dataclass(frozen=True)
class GivenInClinic:
    """One drug given in the clinic. `mg_per_kg` None: not written down."""

    drug: str
    at: dt.datetime
    mg_per_kg: float | None = None
    route: ClinicRoute | None = None
    formulation: Formulation = Formulation.STANDARD


@dataclass(frozen=True)
class Prescription:
    """One medicine that the vet sends home. Amounts are mg per kg of body weight and dose; `days` are days at home."""

    drug: str
    every_hours: float
    days: int
    form: Form = Form.LIQUID
    mg_per_kg: float | None = None
    first_mg_per_kg: float | None = None
    mg_per_ml: float | None = None
    syringe_ml: float | None = None
    mg_per_tablet: float | None = None
    tablet_parts: int = 2
    fixed_amount: float | None = None
    fixed_unit: str = ""
    route: HomeRoute = HomeRoute.PO
    prescribed_by: str = ""
    off_label_explained: bool | None = None


@dataclass(frozen=True)
class DischargeCard:
    """What the nurse wrote in recovery. None: unknown, and shown as unknown."""

    fit_to_go_by: str = ""
    approach: Approach | None = None
    closure: Closure | None = None
    ring_or_tunic: RingOrTunic | None = None
    blood_loss: BloodLoss | None = None
    temperature_c: float | None = None
    company: Company | None = None
    night_plan: bool | None = None
    home_scales: bool | None = None
    appetite: str | None = None
    feeding_ml_per_day: float | None = None
    stitches_out_on: dt.date | None = None


@dataclass(frozen=True)
class VetSaid:
    """A vet spoke to the owner at `at`; until `look_again_at` time alone raises nothing."""

    at: dt.datetime
    look_again_at: dt.datetime


@dataclass(frozen=True)
class Case:
    """Everything known about one recovery but what has been observed since.

    `given_in_clinic` None: unknown; empty: nothing was given. `home_medication` None: nobody has prescribed, so the
    protocol proposes; empty: none goes home. `last_*_before_discharge_at` None: not known to have happened.

    Three facts are not in a case file, since only a running plan has them. `operated_on` None: the date of surgery in
    the present zone; an owner who moves keeps his day 0. `dosing_weight_g` None: never weighed anew for its doses; the
    weight at discharge stays the baseline of every loss. `home_again_at`: when it last came home from a stay in a
    clinic, from which on what nobody wrote down is unknown.
    """

    patient: Patient
    procedure: Procedure
    surgery_ended_at: dt.datetime
    discharged_at: dt.datetime
    hours: OwnerHours
    jurisdiction: Jurisdiction = Jurisdiction.EU_UK
    given_in_clinic: tuple[GivenInClinic, ...] | None = None
    home_medication: tuple[Prescription, ...] | None = None
    last_ate_before_discharge_at: dt.datetime | None = None
    last_faeces_before_discharge_at: dt.datetime | None = None
    last_urine_before_discharge_at: dt.datetime | None = None
    discharge: DischargeCard = field(default_factory=DischargeCard)
    vet_said: tuple[VetSaid, ...] = ()
    operated_on: dt.date | None = None
    dosing_weight_g: float | None = None
    home_again_at: dt.datetime | None = None

    @property
    def day_0(self) -> dt.date:
        """The calendar day of surgery where the owner lived then."""
        return self.operated_on or self.hours.local(self.surgery_ended_at).date()

    @property
    def grams_now(self) -> float:
        """What doses and feed are reckoned from: the newest weighing for it, else the weight at discharge."""
        return self.dosing_weight_g if self.dosing_weight_g is not None else self.patient.weight_g

    def since_surgery(self, moment: dt.datetime) -> dt.timedelta:
        """Time from the end of surgery to `moment`."""
        return moment - self.surgery_ended_at

    def day(self, moment: dt.datetime) -> int:
        """The owner's calendar day of `moment`; the day of surgery is day 0."""
        return (self.hours.local(moment).date() - self.day_0).days
