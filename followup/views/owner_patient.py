"""The page of one patient behind the owner's link."""

from __future__ import annotations

import uuid

from django.http import HttpRequest, HttpResponse
from django.utils import translation

from followup.services.emergency_sheet import emergency_sheet
from followup.services.owner_patient import owner_patient
from followup.services.people import language_of
from followup.services.sheet import sheet_of
from followup.services.sheet_pdf import sheet_pdf
from followup.views.owner_link import Visit, owner_page, page
from followup.views.sheets import pdf


@owner_page("GET")
def patient(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """Everything about this patient that the owner may want to look up."""
    found = visit.plan(plan)
    shown = owner_patient(found, visit.recipient, now=visit.now)
    return page(request, visit, "patient", plan=found, shown=shown, entry=uuid.uuid4().hex, session=uuid.uuid4().hex)


@owner_page("GET")
def sheet(_request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """The sheet that went home, as it stands now, to keep on the phone."""
    found = visit.plan(plan)
    with translation.override(language_of(found)):
        made = sheet_pdf(sheet_of(found, now=visit.now), emergency_sheet(found, now=visit.now))
    return pdf(made, "sheet.pdf", saved=True)
