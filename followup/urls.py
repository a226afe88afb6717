"""The addresses of follow-up."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "followup"
urlpatterns: list[URLPattern] = []
