"""Addresses under /casebook/."""

from __future__ import annotations

from django.urls import path

from setwright.workbench.casebook import views

app_name = "casebook"

urlpatterns = [
    path("", views.casebook, name="casebook"),
    path("casebook.zip", views.save, name="save"),
    path("take/", views.send, name="send"),
    path("take/<str:token>/", views.decide, name="decide"),
]
