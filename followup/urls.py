"""The addresses of follow-up."""

from __future__ import annotations

from django.urls import URLPattern, path

from followup.views import owner, owner_tells, plans

app_name = "followup"
OWNER = "o/<slug:practice>/<str:code>/"

urlpatterns: list[URLPattern] = [
    path("enrol/", plans.enrol, name="enrol"),
    path("plans/<int:pk>/confirm/", plans.confirm, name="confirm"),
    path("plans/<int:pk>/take-back/", plans.take_back, name="take_back"),
    path("plans/<int:pk>/sheet/", plans.sheet, name="sheet"),
    path(OWNER, owner.due, name="owner"),
    path(f"{OWNER}ask/<int:plan>/<slug:session>/", owner.ask, name="owner_ask"),
    path(f"{OWNER}done/<int:plan>/<slug:session>/", owner.done, name="owner_done"),
    path(f"{OWNER}photo/<int:plan>/<slug:session>/", owner_tells.photo, name="owner_photo"),
    path(f"{OWNER}dose/<int:plan>/<int:dose>/", owner_tells.dose, name="owner_dose"),
    path(f"{OWNER}weight/<int:plan>/", owner_tells.weight, name="owner_weight"),
    path(f"{OWNER}note/", owner_tells.note, name="owner_note"),
    path(f"{OWNER}died/<int:plan>/", owner_tells.died, name="owner_died"),
]
