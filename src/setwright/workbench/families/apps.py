"""Django's name for this folder."""

from django.apps import AppConfig


class FamiliesConfig(AppConfig):
    """The families part of the site."""

    name = "setwright.workbench.families"
    label = "families"
