"""Addresses of histories, of removing and of what was removed."""

from __future__ import annotations

from django.urls import path

import setwright.workbench.site.converters  # noqa: F401 (addresses here hold keys)
from setwright.workbench.records import views

app_name = "records"

urlpatterns = [
    path("sets/<key:key>/history/", views.set_history, name="set-history"),
    path("sets/<key:key>/history/<int:number>/", views.set_entry, name="set-entry"),
    path("sets/<key:key>/remove/", views.remove_set, name="remove-set"),
    path("families/<key:key>/history/", views.family_history, name="family-history"),
    path("families/<key:key>/history/<int:number>/", views.family_entry, name="family-entry"),
    path("families/<key:key>/remove/", views.remove_family, name="remove-family"),
    path("families/<key:key>/survivors/history/", views.survivors_history, name="survivors-history"),
    path("families/<key:key>/survivors/history/<int:number>/", views.survivors_entry, name="survivors-entry"),
    path("families/<key:key>/survivors/remove/", views.remove_survivors, name="remove-survivors"),
    path("removed/", views.removed, name="removed"),
    path("removed/<slug:kind>/<key:key>/bring-back/", views.bring_back, name="bring-back"),
]
