"""Addresses under /new-family/. No family's own address can be in their way there."""

from __future__ import annotations

from django.urls import path

from setwright.workbench.families.making import views

app_name = "making"

urlpatterns = [
    path("", views.start, name="start"),
    path("file/", views.from_file, name="file"),
    path("printings/", views.new_from_printings, name="printings"),
    path("table/", views.new_from_table, name="table"),
]
