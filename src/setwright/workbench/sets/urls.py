"""Addresses under /sets/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.sets import views

app_name = "sets"

urlpatterns = [
    path("", views.shelf, name="shelf"),
    path("<key:key>/", views.identity, name="identity"),
    path("<key:key>/identity.json", views.identity_json, name="identity-json"),
    path("<key:key>/set.toml", views.set_file, name="file"),
    path("<key:key>/tables/<slug:name>.csv", views.table, name="table"),
]
