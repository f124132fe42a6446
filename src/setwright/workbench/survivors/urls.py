"""Addresses under /families/…/survivors/."""

from __future__ import annotations

from django.urls import path

from setwright.workbench.survivors import views

app_name = "survivors"

urlpatterns = [
    path("", views.register, name="register"),
    path("survivors.csv", views.register_file, name="file"),
    path("of/<path:name>/", views.survivor, name="survivor"),
]
