"""Addresses under /literature/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.literature import scan_views, table_views, views

app_name = "literature"

urlpatterns = [
    path("", views.shelf, name="shelf"),
    path("add/", views.add, name="add"),
    path("take-in/", table_views.take_in, name="take-in"),
    path("literature.csv", table_views.shelf_csv, name="csv"),
    path("of/<key:key>/", views.entry, name="entry"),
    path("of/<key:key>/edit/", views.edit, name="edit"),
    path("of/<key:key>/remove/", views.remove, name="remove"),
    path("of/<key:key>/literature.toml", views.file, name="file"),
    path("of/<key:key>/history/", views.history, name="history"),
    path("of/<key:key>/history/<int:number>/", views.history_entry, name="history-entry"),
    path("of/<key:key>/scans/", scan_views.attach, name="attach"),
    path("of/<key:key>/scans/<slug:sha256>/", scan_views.scan, name="scan"),
    path("of/<key:key>/scans/<slug:sha256>/change/", scan_views.change, name="change-scan"),
    path("of/<key:key>/scans/<slug:sha256>/take-off/", scan_views.detach, name="detach"),
]
