"""Every address of the program: who comes in stands here, the rest in followup/urls.py."""

from __future__ import annotations

from django.contrib.auth.views import LogoutView
from django.urls import include, path

from clinic.views import logging_in

clinic_urls = [
    path("log-in/", logging_in.log_in, name="log-in"),
    path("log-out/", LogoutView.as_view(), name="log-out"),
    path("practice/", logging_in.choose_practice, name="choose-practice"),
    path("welcome/<str:code>/", logging_in.set_up, name="set-up"),
]

urlpatterns = [
    path("", include((clinic_urls, "clinic"))),
    path("", include("followup.urls")),
]

handler400 = "clinic.views.breaking.bad_request"
handler403 = "clinic.views.breaking.forbidden"
handler404 = "clinic.views.breaking.not_found"
handler500 = "clinic.views.breaking.broken"
