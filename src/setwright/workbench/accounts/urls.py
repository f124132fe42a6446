"""Addresses under /accounts/."""

from __future__ import annotations

from django.urls import path

from setwright.workbench.accounts import views

app_name = "accounts"

urlpatterns = [
    path("", views.accounts, name="accounts"),
    path("add/", views.add, name="add"),
    path("log-in/", views.log_in, name="log-in"),
    path("log-out/", views.log_out, name="log-out"),
    path("password/", views.password, name="password"),
    path("of/<str:name>/", views.account, name="account"),
    path("of/<str:name>/role/", views.set_role, name="role"),
    path("of/<str:name>/password/", views.set_password, name="set-password"),
    path("of/<str:name>/remove/", views.remove, name="remove"),
]
