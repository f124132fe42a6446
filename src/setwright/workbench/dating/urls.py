"""Addresses of a set's date, under those of the set."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.dating import views

app_name = "dating"

urlpatterns = [
    path("sets/<key:key>/date/", views.date, name="date"),
    path("sets/<key:key>/date/stop/", views.stop, name="stop"),
    path("sets/<key:key>/date/start/", views.start, name="start"),
    path("sets/<key:key>/date.json", views.date_json, name="json"),
    path("sets/<key:key>/date/tables/<slug:name>.csv", views.table, name="table"),
    path("sets/<key:key>/date/pictures/<slug:name>.<slug:kind>", views.picture, name="picture"),
]
