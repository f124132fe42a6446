"""The app."""

from __future__ import annotations

from django.apps import AppConfig


class CasebookConfig(AppConfig):
    """Casebooks; it keeps no records of its own."""

    name = "setwright.workbench.casebook"
    label = "casebook"
