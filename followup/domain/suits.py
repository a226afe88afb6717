"""Which questions suit a patient: by species, sex, operation and closure. Source: clinical defaults, 4 and 7."""

from __future__ import annotations

from followup.domain.case import Case
from followup.domain.terms import Closure, Company, Procedure, Sex, Species
from followup.domain.wound_words import GLANCE

_GUMS = frozenset({Species.CAT, Species.DOG})
_VOMITS = frozenset({Species.CAT, Species.DOG, Species.FERRET})
"""The others cannot vomit; an owner who saw something like it writes so, and a person asks."""
_TO_SEE = frozenset({Closure.SKIN_STITCHES, Closure.STAPLES, None})
_WITH_OTHERS = frozenset({Company.BONDED, Company.GROUP, Company.WITH_ENTIRE_FEMALES})


def suits(key: str, case: Case) -> bool:
    """Whether it makes sense to ask this of this patient; what nobody wrote down does not stand against asking."""
    if key == GLANCE or key.startswith("wound."):
        return _has_wound(case) and not (key == "wound.edges" and case.discharge.closure is Closure.LEFT_OPEN)
    asked = {
        "gums": case.patient.species in _GUMS,
        "vomits_since_last": case.patient.species in _VOMITS,
        "vulva": case.patient.sex is not Sex.MALE and case.procedure is Procedure.SPAY,
        "scrotum_or_groin": case.procedure is Procedure.CASTRATION,
        "contact_with_females": case.procedure is Procedure.CASTRATION,
        "stitches": _has_wound(case) and case.discharge.closure in _TO_SEE,
        "company": case.discharge.company in _WITH_OTHERS,
    }
    return asked.get(key, True)


def _has_wound(case: Case) -> bool:
    """A dental operation leaves none in the skin, unless the discharge card says how one was closed."""
    return case.procedure is not Procedure.DENTAL or case.discharge.closure not in {None, Closure.NONE}
