"""Addresses under /families/…/survivors/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.survivors import edit_views, import_views, views

app_name = "survivors"

# What is done to a survivor stands before its name: a name may hold slashes.
urlpatterns = [
    path("", views.register, name="register"),
    path("survivors.csv", views.register_file, name="file"),
    path("export.csv", views.export_csv, name="export-csv"),
    path("export.xlsx", views.export_workbook, name="export-workbook"),
    path("import/", import_views.take_in, name="import"),
    path("quick/", edit_views.quick, name="quick"),
    path("add/", edit_views.add, name="add"),
    path("of/<path:name>/", views.survivor, name="survivor"),
    path("change/<path:name>/", edit_views.change, name="change"),
    path("take-out/<path:name>/", edit_views.remove, name="remove"),
    path("photos/<path:name>/", edit_views.photos, name="photos"),
    path("photos-out/<path:name>/", edit_views.remove_photo, name="remove-photo"),
]
