"""Every address of the program: log in and out here, the rest in followup/urls.py."""

from __future__ import annotations

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

clinic_urls = [
    path("log-in/", LoginView.as_view(template_name="clinic/log_in.html"), name="log-in"),
    path("log-out/", LogoutView.as_view(), name="log-out"),
]

urlpatterns = [
    path("", include((clinic_urls, "clinic"))),
    path("", include("followup.urls")),
]
