"""Addresses under /families/."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.families import views
from setwright.workbench.families.editor import views as editor
from setwright.workbench.families.making import views as making

app_name = "families"

urlpatterns = [
    path("", views.families, name="list"),
    path("<key:key>/", views.family, name="family"),
    path("<key:key>/family.toml", views.family_file, name="file"),
    path("<key:key>/features.csv", views.features_table, name="features"),
    path("<key:key>/versions/<key:version>/", views.version, name="version"),
    path("<key:key>/edit/", editor.grid, name="edit"),
    path("<key:key>/edit/paste/", editor.paste, name="edit-paste"),
    path("<key:key>/edit/family/", editor.change_top, name="edit-top"),
    path("<key:key>/edit/file/", making.change_text, name="edit-text"),
    path("<key:key>/edit/printings/", making.more_from_printings, name="edit-compare"),
    path("<key:key>/edit/table/", making.more_from_table, name="edit-learn"),
    path("<key:key>/edit/<slug:slug>/add/", editor.add_table, name="edit-add"),
    path("<key:key>/edit/<slug:slug>/of/<key:which>/", editor.change_table, name="edit-table"),
    path("<key:key>/edit/<slug:slug>/of/<key:which>/remove/", editor.remove_table, name="edit-remove"),
    path("<key:key>/edit/<slug:slug>/of/<key:which>/move/", editor.move_table, name="edit-move"),
]
