"""Django's name for this folder."""

from django.apps import AppConfig


class SetsConfig(AppConfig):
    """The sets part of the site."""

    name = "setwright.workbench.sets"
    label = "sets"
