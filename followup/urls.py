"""The addresses of follow-up."""

from __future__ import annotations

from django.urls import URLPattern, path

from followup.views import (
    alerts,
    demo,
    ending,
    health,
    medicine,
    morning,
    owner,
    owner_doses,
    owner_hours,
    owner_tells,
    patient,
    phone,
    photos,
    plans,
    reviewing,
    revising,
    sheets,
    stays,
    tray,
)

app_name = "followup"
OWNER = "o/<slug:practice>/<str:code>/"

urlpatterns: list[URLPattern] = [
    path("", morning.morning, name="morning"),
    path("plans/<int:pk>/", patient.patient, name="patient"),
    path("plans/<int:pk>/seen/", patient.seen, name="seen"),
    path("plans/<int:pk>/go-on/", patient.go_on, name="go_on"),
    path("plans/<int:pk>/phone/", phone.phone_answers, name="phone_answers"),
    path("plans/<int:pk>/sign-off/", ending.sign_off, name="sign_off"),
    path("plans/<int:pk>/died/", ending.died, name="died"),
    path("flags/<int:pk>/review/", reviewing.review_flag, name="review_flag"),
    path("reviews/<int:pk>/", reviewing.wound_review, name="wound_review"),
    path("tasks/<int:pk>/done/", reviewing.task_done, name="task_done"),
    path("flags/<int:pk>/acknowledge/", alerts.acknowledge, name="acknowledge"),
    path("flags/<int:pk>/outcome/", alerts.outcome, name="outcome"),
    path("a/<str:code>/", alerts.alert, name="alert"),
    path("tray/", tray.tray, name="tray"),
    path("tray/<int:pk>/", tray.tray_message, name="tray_message"),
    path("health", health.health, name="health"),
    path("demo/clock/", demo.clock_on, name="demo_clock"),
    path("photos/<int:pk>/", photos.photo, name="photo"),
    path("enrol/", plans.enrol, name="enrol"),
    path("plans/<int:pk>/confirm/", plans.confirm, name="confirm"),
    path("plans/<int:pk>/take-back/", plans.take_back, name="take_back"),
    path("plans/<int:pk>/revise/", revising.revise, name="revise"),
    path("doses/<int:pk>/", medicine.record_dose, name="record_dose"),
    path("doses/<int:pk>/release/", medicine.release, name="release"),
    path("owners/<int:pk>/hours/", owner_hours.owner_hours, name="owner_hours"),
    path("plans/<int:pk>/admit/", stays.admit, name="admit"),
    path("plans/<int:pk>/home-again/", stays.home_again, name="home_again"),
    path("plans/<int:pk>/versions/", revising.versions, name="versions"),
    path("plans/<int:pk>/sheet/", sheets.sheet, name="sheet"),
    path("plans/<int:pk>/sheet.pdf", sheets.sheet_pdf, name="sheet_pdf"),
    path(OWNER, owner.due, name="owner"),
    path(f"{OWNER}ask/<int:plan>/<slug:session>/", owner.ask, name="owner_ask"),
    path(f"{OWNER}done/<int:plan>/<slug:session>/", owner.done, name="owner_done"),
    path(f"{OWNER}photo/<int:plan>/<slug:session>/", owner_tells.photo, name="owner_photo"),
    path(f"{OWNER}dose/<int:plan>/<int:dose>/", owner_doses.dose, name="owner_dose"),
    path(f"{OWNER}weight/<int:plan>/", owner_tells.weight, name="owner_weight"),
    path(f"{OWNER}note/", owner_tells.note, name="owner_note"),
    path(f"{OWNER}for-a-vet/<int:plan>/", sheets.for_a_vet, name="owner_for_a_vet"),
    path(f"{OWNER}for-a-vet/<int:plan>/file/", sheets.for_a_vet_file, name="owner_for_a_vet_file"),
    path(f"{OWNER}day-30/<int:plan>/", owner_tells.day_30, name="owner_day_30"),
    path(f"{OWNER}died/<int:plan>/", owner_tells.died, name="owner_died"),
]
