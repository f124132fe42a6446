"""Addresses under /families/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.families import views

app_name = "families"

urlpatterns = [
    path("", views.families, name="list"),
    path("<key:key>/", views.family, name="family"),
    path("<key:key>/family.toml", views.family_file, name="file"),
    path("<key:key>/features.csv", views.features_table, name="features"),
    path("<key:key>/versions/<key:version>/", views.version, name="version"),
]
