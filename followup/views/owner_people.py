"""Who else is there: someone who helps, and whoever opened a link that was not meant for him."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from followup.domain.terms import FollowUpError
from followup.forms.helper import HelperForm
from followup.models import Recipient
from followup.services.helper import add_helper, helpers_of, take_helper_away
from followup.services.links import url_of
from followup.services.wrong_person import not_this_person
from followup.views.owner_link import Visit, owner_page, page


@owner_page("GET", "POST")
def helper(request: HttpRequest, visit: Visit, plan: int) -> HttpResponse:
    """Name someone who helps, hand his link on, or take him away again."""
    found = visit.plan(plan)
    if visit.recipient.part == Recipient.Part.SECOND_CARER:  # he would see the links of the others
        raise Http404
    if gone := request.POST.get("away", ""):
        take_helper_away(found, int(gone) if gone.isdecimal() else 0, by=visit.recipient, now=visit.now)
        return redirect(request.path)
    form = HelperForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            add_helper(found, form.helper(visit.recipient.person), by=visit.recipient, now=visit.now)
            return redirect(request.path)
        except FollowUpError as refusal:
            form.add_error("name", str(refusal))
    helpers = [(each, url_of(each)) for each in helpers_of(found, now=visit.now)]
    status = 422 if form.errors else 200
    return page(request, visit, "helper", plan=found, form=form, helpers=helpers, status=status)


@owner_page("GET", "POST")
def not_me(request: HttpRequest, visit: Visit) -> HttpResponse:
    """The messages reach somebody else: nothing more goes there, and this link is closed."""
    if request.method == "POST":
        not_this_person(visit.recipient, now=visit.now)
        return page(request, visit, "not_me", over=True, home="")
    return page(request, visit, "not_me", person=visit.recipient.person)
