"""Addresses under /sets/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.sets import views

app_name = "sets"

urlpatterns = [
    path("", views.shelf, name="shelf"),
    path("<key:key>/", views.identity, name="identity"),
    path("<key:key>/looks/", views.look_sheet_page, name="looks"),
    path("<key:key>/sisters/", views.sisters, name="sisters"),
    path("<key:key>/sisters/of/<path:name>/", views.sister, name="sister"),
    path("<key:key>/ask/", views.ask, name="ask"),
    path("<key:key>/ask/of/<path:name>/letter.txt", views.letter_file, name="letter-file"),
    path("<key:key>/ask/of/<path:name>/", views.letter, name="letter"),
    path("<key:key>/stop/", views.stop, name="stop"),
    path("<key:key>/start/", views.start, name="start"),
    path("<key:key>/identity.json", views.identity_json, name="identity-json"),
    path("<key:key>/set.toml", views.set_file, name="file"),
    path("<key:key>/tables/<slug:name>.csv", views.table, name="table"),
]
