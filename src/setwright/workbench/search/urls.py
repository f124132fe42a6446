"""Addresses under /search/."""

from __future__ import annotations

from django.urls import path

from setwright.workbench.search import views

app_name = "search"

urlpatterns = [
    path("", views.search, name="search"),
    path("found.json", views.found_json, name="json"),
]
